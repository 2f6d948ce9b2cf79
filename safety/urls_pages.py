"""Pages that know who is on the water."""

from django.urls import path

from safety.pages import alarm, day, home, keeper, leaving, offline, phones, policies, poster, recall, water

urlpatterns = [
    path("", home.home, name="home"),
    path("day/", day.day, name="day"),
    path("day/fish/", day.book, name="my-fish"),
    path("day/papers/", day.papers, name="my-papers"),
    path("day/papers/<int:pk>/", day.permit, name="my-permit"),
    path("day/<int:guest>/fine/", day.fine, name="day-fine"),
    path("day/<int:guest>/late/", day.late, name="day-late"),
    path("day/<int:guest>/back/", day.back, name="day-back"),
    path("day/<int:guest>/off/", leaving.off_the_water, name="day-off"),
    path("day/undo/<int:outing>/", leaving.undo, name="day-undo"),
    path("day/<int:guest>/fish/", day.fish, name="day-fish"),
    path("day/<int:guest>/help/", day.call_for_help, name="day-help"),
    path("day/calls/<int:call>/", day.coming_out, name="day-coming-out"),
    path("offline-pages/", offline.offline_pages, name="offline-pages"),
    path("no-signal/", offline.no_signal, name="no-signal"),
    path("phones/", phones.phones, name="my-phones"),
    path("phones/<int:pk>/off/", phones.phone_off, name="my-phone-off"),
    path("at/<slug:fishery>/", water.water, name="water"),
    path("at/<slug:fishery>/alarms/<int:pk>/", alarm.alarm, name="water-alarm"),
    path("at/<slug:fishery>/check-in/", keeper.check_in_guest, name="water-check-in"),
    path("at/<slug:fishery>/outings/<int:pk>/", keeper.outing, name="water-outing"),
    path("at/<slug:fishery>/outings/<int:pk>/off/", keeper.off_the_water, name="water-outing-off"),
    path("at/<slug:fishery>/outings/<int:pk>/more-time/", keeper.more_time, name="water-outing-more"),
    path("at/<slug:fishery>/outings/<int:pk>/undo/", keeper.undo, name="water-outing-undo"),
    path("at/<slug:fishery>/recall/", recall.recall, name="water-recall"),
    path("at/<slug:fishery>/recall/<int:pk>/end/", recall.recall_end, name="water-recall-end"),
    path("at/<slug:fishery>/poster/<slug:beat>/", poster.poster, name="water-poster"),
    path("at/<slug:fishery>/house/policies/", policies.policies, name="house-policies"),
    path("at/<slug:fishery>/house/watch/<slug:beat>/", policies.watch, name="house-watch"),
    path("check-in/<slug:fishery>/<slug:beat>/", day.at_the_hut, name="check-in"),
]
