"""Pages that know who is on the water."""

from django.urls import path

from safety.pages import alarm, day, home, phones, policies, poster, recall, undelivered, water

urlpatterns = [
    path("", home.home, name="home"),
    path("day/", day.day, name="day"),
    path("day/fish/", day.book, name="my-fish"),
    path("day/papers/", day.papers, name="my-papers"),
    path("day/papers/<int:pk>/", day.permit, name="my-permit"),
    path("day/<int:guest>/fine/", day.fine, name="day-fine"),
    path("day/<int:guest>/late/", day.late, name="day-late"),
    path("day/<int:guest>/back/", day.back, name="day-back"),
    path("day/<int:guest>/fish/", day.fish, name="day-fish"),
    path("day/<int:guest>/help/", day.call_for_help, name="day-help"),
    path("day/calls/<int:call>/", day.coming_out, name="day-coming-out"),
    path("phones/", phones.phones, name="my-phones"),
    path("phones/<int:pk>/off/", phones.phone_off, name="my-phone-off"),
    path("at/<slug:fishery>/", water.water, name="water"),
    path("at/<slug:fishery>/alarms/<int:pk>/", alarm.alarm, name="water-alarm"),
    path("at/<slug:fishery>/recall/", recall.recall, name="water-recall"),
    path("at/<slug:fishery>/recall/<int:pk>/end/", recall.recall_end, name="water-recall-end"),
    path("at/<slug:fishery>/undelivered/", undelivered.undelivered, name="water-undelivered"),
    path("at/<slug:fishery>/undelivered/<uuid:pk>/", undelivered.correct, name="water-undelivered-correct"),
    path(
        "at/<slug:fishery>/undelivered/<uuid:pk>/acknowledge/",
        undelivered.acknowledge_one,
        name="water-undelivered-acknowledge",
    ),
    path("at/<slug:fishery>/poster/<slug:beat>/", poster.poster, name="water-poster"),
    path("at/<slug:fishery>/house/policies/", policies.policies, name="house-policies"),
    path("at/<slug:fishery>/house/watch/<slug:beat>/", policies.watch, name="house-watch"),
    path("check-in/<slug:fishery>/<slug:beat>/", day.at_the_hut, name="check-in"),
]
