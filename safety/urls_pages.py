"""Pages that know who is on the water."""

from django.urls import path

from bookings.pages.permit_code import check_in
from safety.pages import alarm, home, poster, recall, water

urlpatterns = [
    path("", home.home, name="home"),
    path("day/", home.day, name="day"),
    path("at/<slug:fishery>/", water.water, name="water"),
    path("at/<slug:fishery>/alarms/<int:pk>/", alarm.alarm, name="water-alarm"),
    path("at/<slug:fishery>/recall/", recall.recall, name="water-recall"),
    path("at/<slug:fishery>/recall/<int:pk>/end/", recall.recall_end, name="water-recall-end"),
    path("at/<slug:fishery>/poster/<slug:beat>/", poster.poster, name="water-poster"),
    path("check-in/<slug:fishery>/<slug:beat>/", check_in, name="check-in"),
]
