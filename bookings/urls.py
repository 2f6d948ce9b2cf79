from django.urls import path

from bookings.api import views

urlpatterns = [
    path("guests/", views.Guests.as_view(), name="guests"),
    path("guests/<int:pk>/", views.GuestDetail.as_view(), name="guest"),
    path("lets/", views.Lets.as_view(), name="lets"),
    path("lets/<int:pk>/", views.LetDetail.as_view(), name="let"),
    path("lets/<int:pk>/cancel/", views.LetCancel.as_view(), name="let-cancel"),
    path("lets/<int:pk>/share/", views.LetShare.as_view(), name="let-share"),
    path("rod-days/", views.RodDays.as_view(), name="rod-days"),
]
