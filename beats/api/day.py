"""The water on a day: its conditions, a pool cut across, and what keepers note of it."""

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.generics import get_object_or_404
from rest_framework.response import Response
from rest_framework.views import APIView

from beats import queries
from beats.conditions import conditions, section_today
from beats.models import Beat
from beats.serializers import CorrectionIn, ReadingOut
from beats.serializers.day import ConditionsOut, DayIn, SectionIn, who_of
from beats.serializers.notes import ObservationIn, ObservationOut, TidesOut, TrustIn
from beats.services.observations import note_observation
from beats.services.tides import import_tides
from beats.services.trust import correct_reading, judge_reading
from beats.shared.idempotent_views import IdempotentPostMixin
from beats.shared.made import NOTHING_FETCHED, PRIVATE, PictureRenderer
from beats.shared.plain import plain
from beats.shared.rest import BoundedCsvParser, answer, once_of, read_input, read_query
from beats.water.facts import Who
from beats.water.section import Wader as WadingGrade


def beat_of(request, pk: int) -> Beat:
    return get_object_or_404(queries.beats_visible_to(request.user), pk=pk)


class BeatConditions(APIView):
    """What is known of a beat on a day, pool by pool, cautions first."""

    @extend_schema(parameters=[DayIn], responses=ConditionsOut, summary="The water of a day, for one wader")
    def get(self, request, pk):
        beat, asked = beat_of(request, pk), read_query(DayIn, request)
        told = conditions(beat, day=asked.get("day"), now=timezone.now(), who=who_of(asked))
        return Response(plain(told, timezone.get_current_timezone()))


class PoolSection(APIView):
    """A pool cut across as it is now: water, the tip's way down, how deep a wader goes, the level's age."""

    renderer_classes = [PictureRenderer]

    @extend_schema(
        parameters=[SectionIn],
        responses={(200, "image/svg+xml"): OpenApiTypes.STR},
        summary="A pool cut across, as a picture",
    )
    def get(self, request, pk):
        pool = get_object_or_404(queries.pools_visible_to(request.user), pk=pk)
        grade = read_query(SectionIn, request).get("wading_grade")
        who = Who(grade=None if grade is None else WadingGrade(grade))
        picture = section_today(pool, now=timezone.now(), who=who)
        return Response(picture, headers=NOTHING_FETCHED | PRIVATE)


class Observations(APIView):
    """What a keeper sees at the river: wind, thunder, how clear the water is and how warm."""

    once = True

    @extend_schema(
        request=ObservationIn, responses={201: ObservationOut, 200: ObservationOut}, summary="Note what you see"
    )
    def post(self, request, pk):
        beat, facts, now = beat_of(request, pk), read_input(ObservationIn, request), timezone.now()
        at = facts.pop("at", now)
        seen, made = note_observation(beat, facts=facts, at=at, by=request.user, now=now, once=once_of(request))
        return answer(ObservationOut, seen, made=made)


class TidesFile(IdempotentPostMixin, APIView):
    """A CSV file of high and low waters: the columns at, height_m and kind. It speaks for its own span."""

    parser_classes = [BoundedCsvParser]

    @extend_schema(request={"text/csv": OpenApiTypes.STR}, responses=TidesOut, summary="Take in a tide table")
    def post(self, request, pk):
        beat, data = beat_of(request, pk), request.data or b""  # an empty body is an empty form to the framework
        return Response(TidesOut(import_tides(beat, data, by=request.user, now=timezone.now())).data)


class ReadingTrust(IdempotentPostMixin, APIView):
    """A keeper's word on a reading: a jump that is true, or a level that is not."""

    @extend_schema(request=TrustIn, responses=ReadingOut, summary="Vouch for a reading, or distrust it")
    def post(self, request, pk):
        reading = get_object_or_404(queries.readings_visible_to(request.user), pk=pk)
        facts = read_input(TrustIn, request)
        return Response(ReadingOut(judge_reading(reading, **facts, by=request.user, now=timezone.now())).data)


class ReadingCorrect(IdempotentPostMixin, APIView):
    """A reading put right by a keeper. What it said before stays in the audit trail."""

    @extend_schema(request=CorrectionIn, responses=ReadingOut, summary="Correct a reading's level")
    def post(self, request, pk):
        reading = get_object_or_404(queries.readings_visible_to(request.user), pk=pk)
        facts = read_input(CorrectionIn, request)
        corrected = correct_reading(reading, **facts, by=request.user, now=timezone.now())
        return Response(ReadingOut(corrected).data)
