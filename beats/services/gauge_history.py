"""What a gauge has shown so far, kept on its row so that no request reads the whole record.

Callers hold the gauge's row. A new reading costs one step; a correction recounts the newest `RECENT` readings.
"""

import datetime as dt
from collections.abc import Iterable

from django.db.models import Max, Min, Q, QuerySet

from beats.models import Gauge, Reading
from beats.queries import flat_run_of
from beats.water.gauge_history import FlatRun, Range
from beats.water.quality import Reading as Read

RECENT = 3000
"""A month of readings every quarter of an hour."""
MACHINE_NEEDS = 96
"""So many readings before a machine's level counts as outside its history: a day of quarters of an hour."""
SHORT_HISTORY = 10
SHORT_HISTORY_MARGIN_M = 10.0
"""With fewer than `SHORT_HISTORY` readings and no typical range, little is known. Our own, no source."""
BELIEVED = Q(trusted__isnull=True) | Q(trusted=True)


def known_range(gauge: Gauge) -> Range:
    """The believed levels (m) of the gauge so far and its typical range, together."""
    seen = shown_range(gauge)
    for level_m in (gauge.typical_low_m, gauge.typical_high_m):
        seen = seen if level_m is None else seen.with_level(level_m)
    return seen


def shown_range(gauge: Gauge) -> Range:
    """The lowest and highest believed level (m) so far; None where it never read."""
    if gauge.lowest_m is not None and gauge.highest_m is not None:
        return Range(gauge.lowest_m, gauge.highest_m)
    levels = list(_believed(gauge).order_by("-at").values_list("level_m", flat=True)[:RECENT])
    return Range(min(levels), max(levels)) if levels else Range()


def margin_of(gauge: Gauge) -> float:
    """How far outside its range (m) a level must lie to be asked about: far, while the history is short."""
    if gauge.typical_low_m is not None and gauge.typical_high_m is not None:
        return gauge.jump_m
    long_enough = _believed(gauge).order_by("-at")[SHORT_HISTORY - 1 : SHORT_HISTORY].exists()
    return gauge.jump_m if long_enough else max(gauge.jump_m, SHORT_HISTORY_MARGIN_M)


def enough_for_machines(gauge: Gauge) -> bool:
    """Whether the history is long enough to hold a machine's level against it."""
    if gauge.typical_low_m is not None and gauge.typical_high_m is not None:
        return True
    return _believed(gauge).order_by("-at")[MACHINE_NEEDS - 1 : MACHINE_NEEDS].exists()


def add_to_history(gauge: Gauge, fresh: Iterable[Read]) -> None:
    """Count new readings, stored already; faults (`trusted` False) are left out."""
    believed = sorted((one for one in fresh if one.trusted is not False), key=lambda one: one.at)
    if not believed:
        return
    seen = shown_range(gauge)
    for one in believed:
        seen = seen.with_level(one.level_m)
    in_order = gauge.flat_last_at is not None and believed[0].at > gauge.flat_last_at
    run = _continued(gauge, flat_run_of(gauge), believed) if in_order else _recounted(gauge)
    _save(gauge, seen, run)


def recount_history(gauge: Gauge) -> None:
    """Count anew after readings were corrected or judged: seldom, so the whole range is asked of the database."""
    ends = _believed(gauge).aggregate(low=Min("level_m"), high=Max("level_m"))
    _save(gauge, Range(ends["low"], ends["high"]), _recounted(gauge))


def _believed(gauge: Gauge) -> QuerySet[Reading]:
    return Reading.objects.filter(BELIEVED, gauge=gauge)


def _recounted(gauge: Gauge) -> FlatRun:
    rows = _believed(gauge).order_by("-at").values_list("at", "level_m", "trusted")[:RECENT]
    longest = dt.timedelta(minutes=gauge.longest_flat_minutes)
    start = FlatRun(longest=longest, seen_since=gauge.seen_since)
    return _continued(gauge, start, [Read(*row) for row in reversed(rows)])


def _continued(gauge: Gauge, run: FlatRun, readings: Iterable[Read]) -> FlatRun:
    after = dt.timedelta(hours=gauge.flat_after_hours)
    for one in readings:
        run = run.after(one.at, one.level_m, vouched=one.trusted is True, flat_after=after)
    return run


def _save(gauge: Gauge, seen: Range, run: FlatRun) -> None:
    gauge.lowest_m, gauge.highest_m = seen.low_m, seen.high_m
    gauge.flat_m, gauge.flat_since, gauge.flat_last_at = run.level_m, run.since, run.last
    gauge.flat_count = run.count
    gauge.longest_flat_minutes = run.longest // dt.timedelta(minutes=1)
    gauge.seen_since = run.seen_since
    gauge.save(update_fields=HISTORY)


HISTORY = [
    "lowest_m", "highest_m", "flat_m", "flat_since", "flat_last_at", "flat_count", "longest_flat_minutes",
    "seen_since",
]  # fmt: skip
