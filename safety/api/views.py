"""Alarms, for those who keep the water."""

from rest_framework.generics import ListAPIView, RetrieveAPIView

from beats.shared.rest import VisibleMixin
from safety.models import Alarm
from safety.queries import alarms_visible_to
from safety.serializers import AlarmOut


class Alarms(VisibleMixin, ListAPIView):
    """Alarms of your fishery, newest first, with what became of every message."""

    queryset = Alarm.objects.none()
    visible_to = alarms_visible_to
    serializer_class = AlarmOut
    filterset_fields = {"outing": ["exact"], "cleared_at": ["isnull"], "outing__beat": ["exact"]}


class AlarmDetail(VisibleMixin, RetrieveAPIView):
    queryset = Alarm.objects.none()
    visible_to = alarms_visible_to
    serializer_class = AlarmOut
