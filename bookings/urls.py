from django.urls import path

from bookings.api import doors, imports, seasons, vacancies, views

urlpatterns = [
    path("guests/", views.Guests.as_view(), name="guests"),
    path("guests/<int:pk>/", views.GuestDetail.as_view(), name="guest"),
    path("lets/", views.Lets.as_view(), name="lets"),
    path("lets/<int:pk>/", views.LetDetail.as_view(), name="let"),
    path("lets/<int:pk>/confirm/", doors.LetConfirm.as_view(), name="let-confirm"),
    path("lets/<int:pk>/cancel/", views.LetCancel.as_view(), name="let-cancel"),
    path("lets/<int:pk>/transfer/", doors.LetTransfer.as_view(), name="let-transfer"),
    path("lets/<int:pk>/split/", doors.LetSplit.as_view(), name="let-split"),
    path("lets/<int:pk>/party/", doors.LetParty.as_view(), name="let-party"),
    path("lets/<int:pk>/share/", views.LetShare.as_view(), name="let-share"),
    path("rod-days/", views.RodDays.as_view(), name="rod-days"),
    path("beats/<int:pk>/closures/", seasons.BeatClosures.as_view(), name="beat-closures"),
    path("beat-closures/<int:pk>/", seasons.BeatClosureDetail.as_view(), name="beat-closure"),
    path("offers/", seasons.Offers.as_view(), name="offers"),
    path("same-weeks/", seasons.SameWeeks.as_view(), name="same-weeks"),
    path("waiting/", seasons.WaitingList.as_view(), name="waiting"),
    path("waiting/<int:pk>/", seasons.WaitingDetail.as_view(), name="waiting-place"),
    path("fisheries/<slug:slug>/letting-policy/", seasons.Policy.as_view(), name="letting-policy"),
    path("fisheries/<slug:slug>/letting-seasons/", seasons.LettingSeasons.as_view(), name="letting-seasons"),
    path("fisheries/<slug:slug>/availability/", vacancies.Availability.as_view(), name="availability"),
    path("fisheries/<slug:slug>/openings/", vacancies.Openings.as_view(), name="openings"),
    path("fisheries/<slug:slug>/month/", vacancies.Month.as_view(), name="month"),
    path("fisheries/<slug:slug>/lets/preview/", imports.LetsPreview.as_view(), name="lets-preview"),
    path("fisheries/<slug:slug>/lets/import/", imports.LetsImport.as_view(), name="lets-import"),
]
