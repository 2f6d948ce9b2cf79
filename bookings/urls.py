from django.urls import path

from bookings.api import hooks, money, papers, views

urlpatterns = [
    path("fisheries/<slug:slug>/terms/", money.FisheryTerms.as_view(), name="terms"),
    path("fisheries/<slug:slug>/tariff/", money.FisheryTariff.as_view(), name="tariff"),
    path("tariff/<int:pk>/end/", money.PriceEnding.as_view(), name="price-end"),
    path("fisheries/<slug:slug>/takings/", money.Takings.as_view(), name="takings"),
    path("fisheries/<slug:slug>/takings/picture/", money.TakingsPicture.as_view(), name="takings-picture"),
    path("fisheries/<slug:slug>/payment-keys/", hooks.PaymentKeys.as_view(), name="payment-keys"),
    path("payment-keys/<int:pk>/", hooks.PaymentKeyDetail.as_view(), name="payment-key"),
    path("fisheries/<slug:slug>/payments/hook/", hooks.PaymentsHook.as_view(), name="payments-hook"),
    path("fisheries/<slug:slug>/hooks/", hooks.Hooks.as_view(), name="hooks"),
    path("hooks/<int:pk>/", hooks.HookDetail.as_view(), name="hook"),
    path("hooks/<int:pk>/messages/", hooks.HookMessages.as_view(), name="hook-messages"),
    path("ledger/", money.Ledger.as_view(), name="ledger"),
    path("lets/<int:pk>/money/", money.LetMoney.as_view(), name="let-money"),
    path("lets/<int:pk>/permit/", papers.LetPermit.as_view(), name="let-permit"),
    path("lets/<int:pk>/letters/", papers.LetLetters.as_view(), name="let-letters"),
    path("guests/<int:pk>/statement/", money.GuestStatement.as_view(), name="guest-statement"),
    path("guests/<int:pk>/everything/", papers.GuestEverything.as_view(), name="guest-everything"),
    path("guests/<int:pk>/erase/", papers.GuestErase.as_view(), name="guest-erase"),
    path("feeds/", papers.Feeds.as_view(), name="feeds"),
    path("feeds/<int:pk>/", papers.FeedDetail.as_view(), name="feed"),
    path("feeds/<str:secret>.ics", papers.FeedCalendar.as_view(), name="feed-calendar"),
    path("guests/", views.Guests.as_view(), name="guests"),
    path("guests/<int:pk>/", views.GuestDetail.as_view(), name="guest"),
    path("lets/", views.Lets.as_view(), name="lets"),
    path("lets/<int:pk>/", views.LetDetail.as_view(), name="let"),
    path("lets/<int:pk>/cancel/", views.LetCancel.as_view(), name="let-cancel"),
    path("lets/<int:pk>/share/", views.LetShare.as_view(), name="let-share"),
    path("rod-days/", views.RodDays.as_view(), name="rod-days"),
]
