"""Gauges, their readings by hand, by logger and by file, and the loggers' keys."""

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.generics import ListAPIView, get_object_or_404
from rest_framework.response import Response
from rest_framework.views import APIView

from beats import queries
from beats.authentication import LoggerAuthentication
from beats.models import Gauge, GaugeKey, Reading
from beats.serializers import (
    GaugeKeyIn,
    GaugeKeyMade,
    GaugeKeyOut,
    GaugeOut,
    NotedOut,
    ReadingIn,
    ReadingOut,
    ReadingsIn,
)
from beats.services.gauge_keys import issue_key, revoke_key
from beats.services.levels import import_readings, note_by_keeper, note_by_logger, note_one_by_logger
from beats.services.river import note_reading
from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.plain_lists import PlainList
from beats.shared.rest import BoundedCsvParser, ByInstant, VisibleMixin, answer, once_of, read_input
from beats.water.feeds.levels import Level


def gauge_of(request, pk: int) -> Gauge:
    return get_object_or_404(queries.gauges_visible_to(request.user), pk=pk)


class Gauges(VisibleMixin, ListAPIView):
    """Where the level is read."""

    queryset = Gauge.objects.none()
    visible_to = queries.gauges_visible_to
    serializer_class = GaugeOut
    filterset_fields = {"fishery__slug": ["exact"]}


class GaugeReadings(PlainList, VisibleMixin, ListAPIView):
    """What a gauge read, newest first."""

    queryset = Reading.objects.none()
    serializer_class = ReadingOut
    authentication_classes = [LoggerAuthentication]
    pagination_class = ByInstant
    filterset_fields = {"at": ["gte", "lt"], "source": ["exact"]}

    def visible(self):
        return gauge_of(self.request, self.kwargs["pk"]).readings.all()

    @extend_schema(
        request=ReadingIn,
        responses={201: ReadingOut, 200: ReadingOut},
        summary="Note a level, with a token of your own or the gauge's key",
    )
    def post(self, request, pk):
        facts, now = read_input(ReadingIn, request), timezone.now()
        facts.setdefault("at", now)
        confirmed = facts.pop("confirmed")
        if isinstance(request.auth, GaugeKey):  # a machine confirms nothing
            reading, made = note_one_by_logger(request.auth, Level(**facts), gauge_id=pk, now=now)
        else:
            gauge = gauge_of(request, pk)
            reading, made = note_reading(gauge, **facts, confirmed=confirmed, by=request.user, now=now)
        return answer(ReadingOut, reading, made=made)


class ManyReadings(IdempotentPostMixin, APIView):
    """Up to 1000 readings at once, in any order. Sent again, they change nothing."""

    authentication_classes = [LoggerAuthentication]

    @extend_schema(
        request=ReadingsIn, responses=NotedOut, summary="Note many levels, as a logger does after a gap"
    )
    def post(self, request, pk):
        facts, now = read_input(ReadingsIn, request), timezone.now()
        levels = [Level(**each) for each in facts["readings"]]
        if isinstance(request.auth, GaugeKey):
            noted = note_by_logger(request.auth, levels, gauge_id=pk, now=now)
        else:
            gauge = gauge_of(request, pk)
            noted = note_by_keeper(gauge, levels, confirmed=facts["confirmed"], by=request.user, now=now)
        return Response(NotedOut(noted).data)


class ReadingsFile(IdempotentPostMixin, APIView):
    """A CSV file of readings: the columns at and level_m, and water_c where it was taken."""

    parser_classes = [BoundedCsvParser]

    @extend_schema(
        request={"text/csv": OpenApiTypes.STR}, responses=NotedOut, summary="Take in readings from a CSV file"
    )
    def post(self, request, pk):
        gauge = gauge_of(request, pk)
        data = request.data or b""  # an empty body is an empty form to the framework
        noted = import_readings(gauge, data, by=request.user, now=timezone.now())
        return Response(NotedOut(noted).data)


class GaugeKeys(VisibleMixin, ListAPIView):
    """The keys that loggers carry for a gauge; for the owner."""

    queryset = GaugeKey.objects.none()
    serializer_class = GaugeKeyOut
    once = True

    def visible(self):
        gauge = gauge_of(self.request, self.kwargs["pk"])
        queries.require_role(self.request.user, gauge.fishery, queries.Role.OWNER)
        return gauge.keys.all()

    @extend_schema(
        request=GaugeKeyIn, responses={201: GaugeKeyMade, 200: GaugeKeyMade}, summary="Make a key for a logger"
    )
    def post(self, request, pk):
        gauge = gauge_of(request, pk)
        facts = read_input(GaugeKeyIn, request)
        key, secret, made = issue_key(gauge, **facts, by=request.user, now=timezone.now(), once=once_of(request))
        return Response(GaugeKeyOut(key).data | {"secret": secret}, status=201 if made else 200)


class GaugeKeyDetail(APIView):
    @extend_schema(responses={204: None}, summary="Revoke a logger's key")
    def delete(self, request, pk):
        key = get_object_or_404(queries.gauge_keys_visible_to(request.user), pk=pk)
        revoke_key(key, by=request.user, now=timezone.now())
        return Response(status=204)
