"""Pages of the day's fishing and of the book."""

from django.urls import path

from sessions.pages import desk, keys, returns, season

HOUSE = "at/<slug:fishery>/house/"
urlpatterns = [
    path(HOUSE, desk.house, name="house"),
    path(f"{HOUSE}season/<int:year>/", season.season, name="house-season"),
    path(f"{HOUSE}season/<int:year>/report.pdf", season.report, name="house-season-report"),
    path(f"{HOUSE}season/<int:year>/<slug:species>/<slug:of>.svg", season.picture, name="house-season-picture"),
    path(f"{HOUSE}return/<int:season>/", returns.season_return_page, name="house-return"),
    path(f"{HOUSE}return/<int:season>/return.pdf", returns.paper, name="house-return-paper"),
    path(f"{HOUSE}keys/", keys.keys, name="house-keys"),
    path(f"{HOUSE}keys/new/", keys.new, name="house-new-key"),
    path(f"{HOUSE}keys/<int:pk>/withdraw/", keys.withdraw, name="house-withdraw-key"),
]
