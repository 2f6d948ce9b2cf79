"""Which readings are believed: faults marked when a reading arrives, and what a keeper says of a reading.

A fault is kept with the reading, since whoever looks later sees only the last hours. A keeper's judgement
stands; a mark of the service's own (no `judged_by`) is made anew when a keeper judges or corrects a reading.
What is only unconfirmed (`quality.Unconfirmed`) is worked out each time and never stored.
"""

import datetime as dt
from collections.abc import Collection

from django.db import transaction
from django.db.models import Q

from beats.audit import record
from beats.models import Gauge, Reading, User
from beats.queries import Role, habits_of, require_role
from beats.services.gauge_history import enough_for_machines, known_range, recount_history
from beats.services.plausible_level import refuse_unlikely
from beats.shared.phrases import say
from beats.shared.refusals import Stale
from beats.shared.rows import locked
from beats.water import quality
from beats.water.gauge_history import outside

NOT_DISTRUSTED = Q(trusted__isnull=True) | Q(trusted=True)
REJECTED = Q(trusted=False, judged_by__isnull=False)
MOST_AT_ONCE = 5000


class CorrectedMeanwhile(Stale):
    """Somebody else corrected the reading after it was shown."""

    code = "corrected-meanwhile"
    title = say("Corrected meanwhile")


def judged(gauge: Gauge, fresh: Collection[quality.Reading]) -> dict[dt.datetime, quality.Reading]:
    """New readings, none of them stored yet, judged by what stands around them."""
    if not fresh:
        return {}
    new = {reading.at for reading in fresh}
    others = [reading for reading in _as_they_stand(gauge, min(new), max(new)) if reading.at not in new]
    marked = quality.marked([*others, *fresh], habits_of(gauge).checks)
    return {reading.at: reading for reading in marked if reading.at in new}


def faults(gauge: Gauge, fresh: Collection[quality.Reading]) -> set[dt.datetime]:
    """The instants of new readings that are stored as faults: jumps, and levels far outside the history."""
    marked = judged(gauge, fresh).values()
    found = {reading.at for reading in marked if reading.trusted is False and not reading.unconfirmed}
    if not enough_for_machines(gauge):
        return found
    seen = known_range(gauge)
    for reading in sorted(fresh, key=lambda one: one.at):
        if reading.trusted or not outside(reading.level_m, seen, margin_m=gauge.jump_m):
            seen = seen if reading.at in found else seen.with_level(reading.level_m)
        else:
            found.add(reading.at)
    return found


@transaction.atomic
def judge_reading(reading: Reading, *, trusted: bool, by: User, now: dt.datetime) -> Reading:
    """A keeper vouches for a reading or distrusts it. The same again changes nothing. Raises NotYours.

    The service's own marks of the readings after it are made anew.
    """
    gauge = _held(reading, by)
    if reading.trusted is trusted and reading.judged_by_id is not None:
        return reading
    before = {"trusted": reading.trusted}
    reading.trusted, reading.judged_by = trusted, by
    reading.save(update_fields=["trusted", "judged_by"])
    taken_back = _judged_again(gauge, reading.at)
    after = {"trusted": trusted, "marks_taken_back": taken_back}
    record("judge reading", reading, by=by, now=now, fishery=gauge.fishery, before=before, after=after)
    return reading


@transaction.atomic
def correct_reading(
    reading: Reading,
    *,
    level_m: float,
    by: User,
    now: dt.datetime,
    confirmed: bool = False,
    shown_m: float | None = None,
) -> Reading:
    """A keeper puts another level (m) in place of a reading's, and so vouches for it. The old one is in the audit.

    The same level again changes nothing. `shown_m`: the level the keeper saw; CorrectedMeanwhile where it is
    another by now. Raises NotYours, and LevelUnlikely far outside the gauge's history unless `confirmed`.
    """
    gauge = _held(reading, by)
    if reading.level_m == level_m and reading.trusted is True:
        return reading
    if shown_m is not None and reading.level_m != shown_m:
        raise CorrectedMeanwhile(
            say(
                "This reading was corrected to {level_m:.2f} m meanwhile. Look at it again before you change it.",
                level_m=reading.level_m,
            )
        )
    if not confirmed:
        refuse_unlikely(gauge, level_m, other_than=reading)
    before = {"level_m": reading.level_m, "trusted": reading.trusted, "by": reading.by_id}
    reading.level_m, reading.trusted, reading.judged_by = level_m, True, by
    reading.save(update_fields=["level_m", "trusted", "judged_by"])
    taken_back = _judged_again(gauge, reading.at)
    after = {"level_m": level_m, "trusted": True, "marks_taken_back": taken_back}
    record("correct reading", reading, by=by, now=now, fishery=gauge.fishery, before=before, after=after)
    return reading


def _held(reading: Reading, by: User) -> Gauge:
    """The gauge's row, held, and the reading as it is now; for a keeper."""
    fishery = reading.gauge.fishery
    require_role(by, fishery, Role.OWNER, Role.GHILLIE)
    gauge = locked(Gauge.objects.select_related("fishery"), pk=reading.gauge_id)
    reading.refresh_from_db(fields=["level_m", "trusted", "judged_by", "by"])
    return gauge


def _as_they_stand(gauge: Gauge, first: dt.datetime, last: dt.datetime) -> list[quality.Reading]:
    """Readings up to `last`: from the last one believed before `first`, and a few before that."""
    rows = Reading.objects.filter(gauge=gauge).exclude(REJECTED)
    earlier = rows.filter(at__lt=first).order_by("-at")
    good = earlier.filter(NOT_DISTRUSTED).values_list("at", flat=True)[: quality.CONTEXT]
    since = min(good, default=first)
    return [_pure(row) for row in rows.filter(at__gte=since, at__lte=last).order_by("at")[:MOST_AT_ONCE]]


def _judged_again(gauge: Gauge, since: dt.datetime) -> int:
    recount_history(gauge)
    taken_back = _mark_again(gauge, since)
    recount_history(gauge)
    return taken_back


def _mark_again(gauge: Gauge, since: dt.datetime) -> int:
    """Make the service's own marks after an instant anew; returns how many were taken back."""
    rows = Reading.objects.filter(gauge=gauge, at__gt=since).exclude(REJECTED)
    later = list(rows.order_by("at")[:MOST_AT_ONCE])
    series = [quality.Reading(row.at, row.level_m, row.trusted if row.judged_by_id else None) for row in later]
    before = _as_they_stand(gauge, since, since)
    marked = {one.at: one for one in quality.marked([*before, *series], habits_of(gauge).checks)}
    cleared, added = [], []
    for row in later:
        fault = marked[row.at].trusted is False and not marked[row.at].unconfirmed
        if row.trusted is False and row.judged_by_id is None and not fault and not _far_out(gauge, row.level_m):
            cleared.append(row.pk)
        elif row.trusted is None and fault:
            added.append(row.pk)
    Reading.objects.filter(pk__in=added).update(trusted=False)
    return Reading.objects.filter(pk__in=cleared).update(trusted=None)


def _far_out(gauge: Gauge, level_m: float) -> bool:
    return outside(level_m, known_range(gauge), margin_m=gauge.jump_m)


def _pure(row: Reading) -> quality.Reading:
    return quality.Reading(row.at, row.level_m, row.trusted)
