"""Pages of the day's fishing and of the book."""

from django.urls import path

from sessions.pages import fish, river_up, rota, rota_swap

urlpatterns = [
    path("at/<slug:fishery>/rota/", rota.rota, name="water-rota"),
    path("at/<slug:fishery>/rota/plan/", rota.plan, name="water-rota-plan"),
    path("at/<slug:fishery>/rota/<int:pk>/", rota.week, name="water-rota-week"),
    path("at/<slug:fishery>/rota/<int:pk>/sheet/", rota.sheet, name="water-rota-sheet"),
    path("at/<slug:fishery>/rota/<int:pk>/swap/", rota_swap.swapping, name="water-rota-swap"),
    path("at/<slug:fishery>/river-up/", river_up.up, name="water-river-up"),
    path("at/<slug:fishery>/fish/", fish.fish, name="water-fish"),
]
