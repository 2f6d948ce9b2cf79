"""Pages of the day's fishing and of the book."""

from django.urls import path

from sessions.pages import (
    closing,
    desk,
    fish,
    fish_correct,
    keys,
    questions,
    returns,
    river_up,
    rota,
    rota_swap,
    season,
)

HOUSE = "at/<slug:fishery>/house/"
urlpatterns = [
    path("at/<slug:fishery>/rota/", rota.rota, name="water-rota"),
    path("at/<slug:fishery>/rota/plan/", rota.plan, name="water-rota-plan"),
    path("at/<slug:fishery>/rota/<int:pk>/", rota.week, name="water-rota-week"),
    path("at/<slug:fishery>/rota/<int:pk>/sheet/", rota.sheet, name="water-rota-sheet"),
    path("at/<slug:fishery>/rota/<int:pk>/swap/", rota_swap.swapping, name="water-rota-swap"),
    path("at/<slug:fishery>/river-up/", river_up.up, name="water-river-up"),
    path("at/<slug:fishery>/fish/", fish.fish, name="water-fish"),
    path("at/<slug:fishery>/fish/<int:pk>/", fish_correct.correct, name="water-fish-correct"),
    path("at/<slug:fishery>/fish/<int:pk>/strike-out/", fish_correct.strike, name="water-fish-strike"),
    path(HOUSE, desk.house, name="house"),
    path(f"{HOUSE}season/<int:year>/", season.season, name="house-season"),
    path(f"{HOUSE}season/<int:year>/report.pdf", season.report, name="house-season-report"),
    path(f"{HOUSE}season/<int:year>/<slug:species>/<slug:of>.svg", season.picture, name="house-season-picture"),
    path(f"{HOUSE}return/<int:season>/", returns.season_return_page, name="house-return"),
    path(f"{HOUSE}return/<int:season>/return.pdf", returns.paper, name="house-return-paper"),
    path(f"{HOUSE}return/<int:season>/months/", questions.months, name="house-return-months"),
    path(
        f"{HOUSE}return/<int:season>/questions/<slug:code>/<int:month>/",
        questions.question,
        name="house-return-question",
    ),
    path(f"{HOUSE}closings/", closing.closings, name="house-closings"),
    path(f"{HOUSE}closings/new/", closing.close, name="house-close-beat"),
    path(f"{HOUSE}closings/<int:pk>/open/", closing.reopen, name="house-reopen-beat"),
    path(f"{HOUSE}keys/", keys.keys, name="house-keys"),
    path(f"{HOUSE}keys/new/", keys.new, name="house-new-key"),
    path(f"{HOUSE}keys/<int:pk>/withdraw/", keys.withdraw, name="house-withdraw-key"),
]
