"""How long a pool takes to fish down, and how many rods it holds in a part of the day."""

import datetime as dt
from dataclasses import dataclass

from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.generics import get_object_or_404
from rest_framework.response import Response
from rest_framework.views import APIView

from beats.models import DayPart, Pool
from beats.queries import pools_visible_to
from beats.shared.rest import StrictSerializer, read_query
from sessions.rotation import pace as pacing
from sessions.rotation.pace import Pace

NO_SOURCE = "Reckoned from the pool's length at an even pace: common practice, no source. Ask the ghillie."
BOAT = "This pool is fished from a boat: the oarsman sets the pace, and these figures are for an angler on foot."
TOO_LONG = "It is too long to be fished down in every part shown: take longer steps, or fish it as two pools."
OWNERS_LIMIT = "The owner allows {} on it at once."


class PartMinutesIn(StrictSerializer):
    part_minutes = serializers.IntegerField(
        min_value=1,
        max_value=pacing.LONGEST_PART_MINUTES,
        required=False,
        help_text="A length of your own instead of the fishery's parts of the day",
    )


class StartOut(serializers.Serializer):
    minutes = serializers.FloatField(help_text="Into the part")
    at = serializers.TimeField(
        allow_null=True, help_text="Local time, to the next whole minute; null without a part"
    )


class PartPaceOut(serializers.Serializer):
    part = serializers.CharField(source="slug", allow_null=True)
    minutes = serializers.IntegerField()
    down_in_time = serializers.BooleanField(help_text="Whether even one rod gets down the pool in it")
    holds = serializers.IntegerField(help_text="Rods that can fish it down, one behind the other")
    starts = StartOut(many=True, help_text="When each of them starts at the neck")


class PaceOut(serializers.Serializer):
    """Metres, seconds and minutes; what the pool does not say itself is common practice."""

    pool = serializers.IntegerField(source="pool.id")
    length_m = serializers.FloatField(source="pool.length_m")
    step_m = serializers.FloatField(source="pace.step_m")
    cycle_s = serializers.FloatField(source="pace.cycle_s")
    short_casts = serializers.IntegerField(source="pace.short_casts")
    behind_m = serializers.FloatField(source="pace.behind_m")
    casts = serializers.IntegerField()
    minutes_down = serializers.FloatField()
    minutes_until_next = serializers.FloatField(help_text="Until the next rod may start at the neck")
    rods_at_once = serializers.IntegerField(source="pool.rods_at_once", help_text="What the owner allows")
    parts = PartPaceOut(many=True)
    notes = serializers.ListField(child=serializers.CharField())


@dataclass(frozen=True)
class _Part:
    slug: str | None
    minutes: int
    down_in_time: bool
    holds: int
    starts: list[dict]


class PoolPace(APIView):
    """One row for each part of the fishery's day, or one for a length of your own."""

    @extend_schema(
        parameters=[PartMinutesIn], responses=PaceOut, summary="How long a pool takes, and how many rods it holds"
    )
    def get(self, request, pk):
        pool = get_object_or_404(pools_visible_to(request.user), pk=pk)
        asked = read_query(PartMinutesIn, request)
        return Response(PaceOut(_told(pool, asked.get("part_minutes"))).data)


def _told(pool: Pool, part_minutes: int | None) -> dict:
    pace = Pace.of(step_m=pool.step_m, cycle_s=pool.cycle_s, short_casts=pool.short_casts, behind_m=pool.behind_m)
    parts = [None] if part_minutes else pool.beat.fishery.parts.order_by("starts")
    rows = [_row(pool, pace, part, part_minutes) for part in parts]
    return {
        "pool": pool,
        "pace": pace,
        "casts": pacing.casts_down(pool.length_m, pace),
        "minutes_down": _tenth(pacing.minutes_down(pool.length_m, pace)),
        "minutes_until_next": _tenth(pacing.minutes_until_next(pool.length_m, pace)),
        "parts": rows,
        "notes": _notes(pool, rows),
    }


def _row(pool: Pool, pace: Pace, part: DayPart | None, part_minutes: int | None) -> _Part:
    minutes = part_minutes or part.minutes
    count = pacing.holds(pool.length_m, minutes, pace)
    return _Part(
        part.slug if part else None,
        minutes,
        pacing.down_in_time(pool.length_m, minutes, pace),
        count,
        [
            {"minutes": _tenth(into), "at": _clock(part, into) if part else None}
            for into in pacing.starts(count, pool.length_m, pace)
        ],
    )


def _notes(pool: Pool, rows: list[_Part]) -> list[str]:
    notes = [NO_SOURCE]
    if pool.boat:
        notes.append(BOAT)
    if rows and not any(row.down_in_time for row in rows):
        notes.append(TOO_LONG)
    if any(row.holds > pool.rods_at_once for row in rows):
        rods = "one rod" if pool.rods_at_once == 1 else f"{pool.rods_at_once} rods"
        notes.append(OWNERS_LIMIT.format(rods))
    return notes


def _clock(part: DayPart, into: float) -> dt.time:
    """The first whole minute that is not too early."""
    seconds = round(into * 60)
    return (dt.datetime.combine(dt.date.min, part.starts) + dt.timedelta(minutes=-(-seconds // 60))).time()


def _tenth(minutes: float) -> float:
    return round(minutes, 1)
