from django.urls import path

from safety.api import gateway, pushes, recalls, records, undelivered, views, warnings

urlpatterns = [
    path("alarms/", views.Alarms.as_view(), name="alarms"),
    path("alarms/<int:pk>/", views.AlarmDetail.as_view(), name="alarm"),
    path("alarms/<int:pk>/answer/", views.AlarmAnswer.as_view(), name="alarm-answer"),
    path("alarms/<int:pk>/close/", views.AlarmClose.as_view(), name="alarm-close"),
    path("angler-messages/", views.AnglerMessages.as_view(), name="angler-messages"),
    path("alarms/<int:pk>/card/", views.AlarmCard.as_view(), name="alarm-card"),
    path("outings/<int:pk>/help/", views.OutingHelp.as_view(), name="outing-help"),
    path("fisheries/<slug:slug>/board/", views.BoardView.as_view(), name="board"),
    path("beats/<int:pk>/watch-policy/", views.BeatWatchPolicy.as_view(), name="watch-policy"),
    path("recalls/", recalls.Recalls.as_view(), name="recalls"),
    path("recalls/<int:pk>/", recalls.RecallDetail.as_view(), name="recall"),
    path("recalls/<int:pk>/end/", recalls.RecallEnd.as_view(), name="recall-end"),
    path("recalls/<int:pk>/answer/", recalls.RecallAnswer.as_view(), name="recall-answer"),
    path("warnings/", warnings.Warnings.as_view(), name="warnings"),
    path("warnings/<int:pk>/end/", warnings.WarningEnd.as_view(), name="warning-end"),
    path("duties/", records.Duties.as_view(), name="duties"),
    path("duties/<int:pk>/", records.DutyDetail.as_view(), name="duty"),
    path("drills/", records.Drills.as_view(), name="drills"),
    path("drills/<int:pk>/answer/", records.DrillAnswer.as_view(), name="drill-answer"),
    path("incidents/", records.Incidents.as_view(), name="incidents"),
    path("incidents/<int:pk>/", records.IncidentDetail.as_view(), name="incident"),
    path("incidents/<int:pk>/file/", records.IncidentFile.as_view(), name="incident-file"),
    path("push-addresses/", pushes.PushAddresses.as_view(), name="push-addresses"),
    path("push-addresses/key/", pushes.PushKey.as_view(), name="push-key"),
    path("push-addresses/<int:pk>/", pushes.PushAddressDetail.as_view(), name="push-address"),
    path("undelivered/", undelivered.Undelivered.as_view(), name="undelivered"),
    path(
        "undelivered/<uuid:pk>/acknowledge/",
        undelivered.UndeliveredAcknowledge.as_view(),
        name="undelivered-acknowledge",
    ),
    path("undelivered/<uuid:pk>/correct/", undelivered.UndeliveredCorrect.as_view(), name="undelivered-correct"),
    path("gateway/events/", gateway.GatewayEvents.as_view(), name="gateway-events"),
]
