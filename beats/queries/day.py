"""All that is known of a beat on a day, in three questions however many pools it has.

One for the gauge's readings, one for the pools, and one union for all the rest: grades and rules of the
house, closures, observations and tides.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db.models import (
    BooleanField,
    CharField,
    DateField,
    DateTimeField,
    F,
    FloatField,
    QuerySet,
    Value,
)
from django.db.models.functions import Cast

from beats import places
from beats.models import (
    Beat,
    ConservationGrade,
    FisheryRule,
    Gauge,
    Observation,
    Pool,
    PoolClosure,
    TideWater,
)
from beats.queries.river import (
    Read,
    flat_run_of,
    habits_of,
    judged,
    levels_with_context,
    light_on,
    local_day,
    looked_back,
    zone_of,
)
from beats.water import changes, section
from beats.water.advice import Word
from beats.water.casting import Side
from beats.water.facts import BeatFacts, Facts, GaugeFacts, Noted, PoolFacts
from beats.water.fish_care import Limits, Temperature
from beats.water.hydraulics import MANNING, Factors, Measured
from beats.water.lies import Feature
from beats.water.noted import CLARITY_LASTS
from beats.water.practice import Clarity
from beats.water.quality import CONTEXT
from beats.water.tide_table import Kind, TideTable, Water
from beats.water.trend import Reading
from beats.water.wading import Thresholds

ONE_DAY = dt.timedelta(days=1)
AROUND = dt.timedelta(hours=14)
"""Longer than from one high or low water to the next, so that the day's edges lie between two."""
SHAPE = {
    "kind": CharField(),
    "on": DateField(),
    "at": DateTimeField(),
    "a": FloatField(),
    "b": FloatField(),
    "c": FloatField(),
    "flag": BooleanField(),
    "text": CharField(),
    "more": CharField(),
    "start": CharField(),
    "end": CharField(),
}
"""The one row that everything in the union is written as."""


@dataclass(frozen=True)
class _Row:
    kind: str
    on: dt.date | None
    at: dt.datetime | None
    a: float | None
    b: float | None
    c: float | None
    flag: bool | None
    text: str | None
    more: str | None
    start: str | None
    end: str | None


def facts_of_day(beat: Beat, *, day: dt.date | None, now: dt.datetime) -> Facts:
    """What is known of a beat on a local day (today when none is given). Its fishery and gauge are at hand."""
    today = local_day(beat.fishery, now)
    day = day or today
    rows = _rows(beat, day, now)
    grades = [(row.on, row.text) for row in rows["grade"]]
    rules = [(row.text, row.start, row.end, row.more) for row in rows["rule"]]
    (law,) = judged(beat.fishery, [day], grades=grades, rules=rules)
    reads = _reads(beat, now) if day == today else []
    tides = tuple(Water(row.at, row.a, Kind(row.text)) for row in rows["tide"])
    closed = {int(row.a): row.text for row in rows["closure"]}
    return Facts(
        beat=_beat(beat),
        day=day,
        now=now,
        law=law,
        light=light_on(beat.fishery, day),
        gauge=_gauge(beat.gauge) if beat.gauge else None,
        readings=_recent(reads, beat.gauge),
        temperatures=tuple(Temperature(at, water_c) for at, _, water_c, _ in reads if water_c is not None),
        noted=tuple(_noted(row) for row in rows["seen"]),
        tides=TideTable(tides) if len(tides) > 1 else None,
        pools=tuple(
            _pool(pool, closed.get(pool.pk, ""))
            for pool in Pool.objects.filter(beat=beat, retired=False).order_by("order", "id")
        ),
    )


def warnings_now(beat: Beat, now: dt.datetime) -> tuple[changes.Warning, ...]:
    """What of this beat is true now that somebody on the water must hear of. Ask as often as you like.

    `changes.compared` tells what began and what ended since the last look.
    """
    return changes.true_of(facts_of_day(beat, day=None, now=now))


def _rows(beat: Beat, day: dt.date, now: dt.datetime) -> Mapping[str, list[_Row]]:
    start = dt.datetime.combine(day, dt.time(), zone_of(beat.fishery))
    fishery = beat.fishery_id
    asked = (
        _shaped(ConservationGrade.objects.filter(fishery=fishery), "grade", on="from_on", text="grade"),
        _shaped(
            FisheryRule.objects.filter(fishery=fishery),
            "rule", text="status", more="reason", start="start", end="end",
        ),
        _shaped(
            PoolClosure.objects.filter(pool__beat=beat, from_on__lte=day, to_on__gte=day),
            "closure", a="pool_id", text="reason",
        ),
        _shaped(
            Observation.objects.filter(beat=beat, at__gt=now - CLARITY_LASTS, at__lte=now),
            "seen", at="at", a="wind_from_deg", b="wind_mps", c="water_c", flag="thunder", text="clarity",
            more="by__name",
        ),
        _shaped(
            TideWater.objects.filter(beat=beat, at__gte=start - AROUND, at__lte=start + ONE_DAY + AROUND),
            "tide", at="at", a="height_m", text="kind",
        ),
    )  # fmt: skip
    found = defaultdict(list)
    for values in asked[0].union(*asked[1:], all=True):
        row = _Row(*values)
        found[row.kind].append(row)
    found["tide"].sort(key=lambda row: row.at)
    return found


def _shaped(queryset: QuerySet, kind: str, **columns: str) -> QuerySet:
    """The rows as SHAPE: `columns` say which field stands where; the rest is null."""
    filled: dict[str, Any] = {
        f"u_{name}": Cast(F(columns[name]) if name in columns else Value(None), output_field=field)
        for name, field in SHAPE.items()
    }
    filled["u_kind"] = Cast(Value(kind), output_field=CharField())
    return queryset.order_by().annotate(**filled).values_list(*filled)


def _reads(beat: Beat, now: dt.datetime) -> list[Read]:
    """The gauge since yesterday began, in order, and the few readings before."""
    if beat.gauge_id is None:
        return []
    eve = local_day(beat.fishery, now) - ONE_DAY
    start = dt.datetime.combine(eve, dt.time(), zone_of(beat.fishery)).astimezone(dt.UTC)
    return levels_with_context(beat.gauge_id, start, now)


def _recent(reads: list[Read], gauge: Gauge | None) -> tuple[Reading, ...]:
    """Those the level is judged by: the window of the trend and a flat run, and a few before."""
    if not reads or gauge is None:
        return ()
    first = reads[-1][0] - looked_back(gauge)
    start = max(0, sum(at < first for at, *_ in reads) - CONTEXT)
    return tuple(Reading(at, level_m, trusted) for at, level_m, _, trusted in reads[start:])


def _gauge(gauge: Gauge) -> GaugeFacts:
    return GaugeFacts(
        gauge.name,
        gauge.typical_low_m,
        gauge.typical_high_m,
        habits_of(gauge),
        gauge.attribution,
        flat_run_of(gauge),
    )


def _beat(beat: Beat) -> BeatFacts:
    fishery = beat.fishery
    return BeatFacts(
        id=beat.pk,
        zone=zone_of(fishery),
        tidal=beat.tidal,
        thresholds=Thresholds(beat.cold_c, beat.rise_m_per_h),
        dark_margin=dt.timedelta(minutes=beat.dark_margin_minutes),
        clarity=Clarity(beat.clarity) if beat.clarity else None,
        drought=fishery.drought,
        limits=Limits(fishery.care_c, fishery.stop_c, fishery.drought_stop_c),
        tide_lag_days=beat.tide_lag_days,
        misplaced=places.misplaced(fishery.latitude, fishery.longitude, entry=fishery.district) is not None,
    )


def _pool(pool: Pool, closed: str) -> PoolFacts:
    return PoolFacts(
        id=pool.pk,
        name=pool.name,
        order=pool.order,
        bank=Side(pool.bank),
        flow_bearing_deg=pool.flow_bearing_deg,
        width_m=pool.width_m,
        depth_m=pool.depth_m,
        velocity_mps=pool.velocity_mps,
        wading_grade=section.Wader(pool.wading_grade),
        reference_level_m=pool.reference_level_m,
        factors=Factors(
            _or(pool.depth_per_level, 1.0), _or(pool.velocity_exponent, MANNING), _or(pool.velocity_factor, 1.0)
        ),
        table=tuple(Measured(**row) for row in pool.flow_table),
        wading_depth_m=pool.wading_depth_m,
        wading_velocity_mps=pool.wading_velocity_mps,
        features=tuple(Feature(name) for name in pool.features),
        words={what: Word(**word) for what, word in pool.tackle_words.items()},
        boat=pool.boat,
        ghillie=pool.ghillie,
        level_min_m=pool.level_min_m,
        level_max_m=pool.level_max_m,
        cut_off_above_m=pool.cut_off_above_m,
        closed=closed,
    )


def _noted(row: _Row) -> Noted:
    return Noted(row.at, row.more or "", row.a, row.b, row.flag, Clarity(row.text) if row.text else None, row.c)


def _or(value: float | None, usual: float) -> float:
    return usual if value is None else value
