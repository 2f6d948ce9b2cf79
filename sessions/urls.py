from django.urls import path

from sessions.api import book, exports, outings, pace, returns, rotas, sheets, statistics

urlpatterns = [
    path("rotas/", rotas.Rotas.as_view(), name="rotas"),
    path("rotas/<int:pk>/", rotas.RotaDetail.as_view(), name="rota"),
    path("rotas/<int:pk>/publish/", rotas.RotaPublish.as_view(), name="rota-publish"),
    path("rotas/<int:pk>/replan/", rotas.RotaReplan.as_view(), name="rota-replan"),
    path("rotas/<int:pk>/swap/", rotas.RotaSwap.as_view(), name="rota-swap"),
    path("rota-jobs/", rotas.RotaJobs.as_view(), name="rota-jobs"),
    path("rota-jobs/<int:pk>/", rotas.RotaJobDetail.as_view(), name="rota-job"),
    path("rota-jobs/<int:pk>/call-off/", rotas.RotaJobCallOff.as_view(), name="rota-job-call-off"),
    path("turns/<int:pk>/why/", rotas.TurnWhy.as_view(), name="turn-why"),
    path("turns/", rotas.Turns.as_view(), name="turns"),
    path("outings/", outings.Outings.as_view(), name="outings"),
    path("outings/<int:pk>/", outings.OutingDetail.as_view(), name="outing"),
    path("outings/<int:pk>/time-back/", outings.OutingTimeBack.as_view(), name="outing-time-back"),
    path("outings/<int:pk>/check-out/", outings.OutingCheckOut.as_view(), name="outing-check-out"),
    path("fisheries/<slug:slug>/tally/", outings.Tally.as_view(), name="tally"),
    path("catches/", book.Catches.as_view(), name="catches"),
    path("catches/totals/", exports.CatchTotals.as_view(), name="catch-totals"),
    path("catches/<int:pk>/", book.CatchDetail.as_view(), name="catch"),
    path("catches/<int:pk>/strike-out/", book.CatchStrikeOut.as_view(), name="catch-strike-out"),
    path("catches/<int:pk>/history/", book.CatchHistory.as_view(), name="catch-history"),
    path("outings/<int:pk>/fish/", book.OutingFish.as_view(), name="outing-fish"),
    path("fisheries/<slug:slug>/returns/<int:season>/", returns.SeasonReturnView.as_view(), name="return"),
    path("fisheries/<slug:slug>/returns/<int:season>/effort/", returns.SeasonEffort.as_view(), name="effort"),
    path("fisheries/<slug:slug>/returns/<int:season>/due/", returns.ReturnDueView.as_view(), name="return-due"),
    path(
        "fisheries/<slug:slug>/returns/<int:season>/signed/",
        returns.SignedReturns.as_view(),
        name="returns-signed",
    ),
    path("fisheries/<slug:slug>/fish/", exports.FishFile.as_view(), name="fish-file"),
    path("fisheries/<slug:slug>/fish/schema/", exports.FishSchema.as_view(), name="fish-schema"),
    path("fisheries/<slug:slug>/occurrences/", exports.Occurrences.as_view(), name="occurrences"),
    path(
        "fisheries/<slug:slug>/statistics/<int:season>/", statistics.SeasonStatistics.as_view(), name="statistics"
    ),
    path(
        "fisheries/<slug:slug>/statistics/<int:season>/picture/",
        statistics.SeasonPicture.as_view(),
        name="statistics-picture",
    ),
    path(
        "fisheries/<slug:slug>/statistics/<int:season>/expected/",
        statistics.SeasonExpected.as_view(),
        name="expected",
    ),
    path("fisheries/<slug:slug>/board-keys/", returns.BoardKeys.as_view(), name="board-keys"),
    path("board-keys/<int:pk>/", returns.BoardKeyDetail.as_view(), name="board-key"),
    path(
        "fisheries/<slug:slug>/returns/<int:season>/signed/<int:version>/",
        returns.SignedReturn.as_view(),
        name="return-signed",
    ),
    path("pools/<int:pk>/pace/", pace.PoolPace.as_view(), name="pool-pace"),
    path("rotas/<int:pk>/sheet/", sheets.RotaSheet.as_view(), name="rota-sheet"),
    path("rotas/<int:pk>/calendar/", sheets.RotaCalendar.as_view(), name="rota-calendar"),
    path("rotas/<int:pk>/picture/", sheets.RotaPicture.as_view(), name="rota-picture"),
]
