"""Pages that know who is on the water."""

from django.urls import path

from bookings.pages.permit_code import check_in
from safety.pages import home

urlpatterns = [
    path("", home.home, name="home"),
    path("day/", home.day, name="day"),
    path("at/<slug:fishery>/", home.water, name="water"),
    path("check-in/<slug:fishery>/<slug:beat>/", check_in, name="check-in"),
]
