from django.urls import path

from beats.api import day, fisheries, gauges, water

urlpatterns = [
    path("me/", fisheries.Me.as_view(), name="me"),
    path("me/sign-out-everywhere/", fisheries.SignOutEverywhere.as_view(), name="me-sign-out"),
    path("problems/", fisheries.ProblemKinds.as_view(), name="problems"),
    path("problems/<slug:code>", fisheries.ProblemKind.as_view(), name="problem"),
    path("fisheries/", fisheries.Fisheries.as_view(), name="fisheries"),
    path("fisheries/<slug:slug>/", fisheries.FisheryDetail.as_view(), name="fishery"),
    path("fisheries/<slug:slug>/season/", fisheries.SeasonDays.as_view(), name="season"),
    path("beats/", water.Beats.as_view(), name="beats"),
    path("beats/<int:pk>/", water.BeatDetail.as_view(), name="beat"),
    path("beats/<int:pk>/conditions/", day.BeatConditions.as_view(), name="conditions"),
    path("beats/<int:pk>/observations/", day.Observations.as_view(), name="observations"),
    path("beats/<int:pk>/tides/import/", day.TidesFile.as_view(), name="tides-import"),
    path("pools/", water.Pools.as_view(), name="pools"),
    path("pools/<int:pk>/", water.PoolDetail.as_view(), name="pool"),
    path("pools/<int:pk>/section/", day.PoolSection.as_view(), name="pool-section"),
    path("pools/<int:pk>/closures/", water.PoolClosures.as_view(), name="closures"),
    path("closures/<int:pk>/", water.ClosureDetail.as_view(), name="closure"),
    path("gauges/", gauges.Gauges.as_view(), name="gauges"),
    path("gauges/<int:pk>/readings/", gauges.GaugeReadings.as_view(), name="readings"),
    path("gauges/<int:pk>/readings/many/", gauges.ManyReadings.as_view(), name="readings-many"),
    path("gauges/<int:pk>/readings/import/", gauges.ReadingsFile.as_view(), name="readings-import"),
    path("gauges/<int:pk>/keys/", gauges.GaugeKeys.as_view(), name="gauge-keys"),
    path("readings/<int:pk>/correct/", day.ReadingCorrect.as_view(), name="reading-correct"),
    path("readings/<int:pk>/trust/", day.ReadingTrust.as_view(), name="reading-trust"),
    path("gauge-keys/<int:pk>/", gauges.GaugeKeyDetail.as_view(), name="gauge-key"),
]
