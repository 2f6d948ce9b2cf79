"""Which readings are believed: the mark of a jump when a reading arrives, and a keeper's word on it.

A mark is kept with the reading, since whoever looks later sees only the last hours. A keeper's word
stands; a mark of the service's own (nobody in `judged_by`) is taken back when a word explains the jump.
"""

import datetime as dt
from collections.abc import Collection

from django.db import transaction
from django.db.models import Q

from beats.audit import record
from beats.models import Gauge, Reading, User
from beats.queries import Role, require_role
from beats.shared.rows import locked
from beats.water import trend

NOT_DISTRUSTED = Q(trusted__isnull=True) | Q(trusted=True)
MOST_AT_ONCE = 5000


def jumped(gauge: Gauge, fresh: Collection[tuple[dt.datetime, float]]) -> set[dt.datetime]:
    """The instants of new readings (at, metres; none of them kept yet) that jump from what stands around them."""
    if not fresh:
        return set()
    first, last = min(at for at, _ in fresh), max(at for at, _ in fresh)
    series = [trend.Reading(at, level_m) for at, level_m in fresh]
    around = _as_they_stand(gauge, first, last)
    new = {reading.at for reading in series}
    others = [reading for reading in around if reading.at not in new]  # what stands there already stays
    marked = trend.marked([*others, *series], _habits(gauge))
    return {reading.at for reading in marked if reading.trusted is False and reading.at in new}


@transaction.atomic
def judge_reading(reading: Reading, *, trusted: bool, by: User, now: dt.datetime) -> Reading:
    """A keeper vouches for a reading or distrusts it. The same word again changes nothing. Raises NotYours.

    Vouching for a jump also takes back the marks of the readings that follow from it.
    """
    fishery = reading.gauge.fishery
    require_role(by, fishery, Role.OWNER, Role.GHILLIE)
    locked(Gauge.objects, pk=reading.gauge_id)
    reading.refresh_from_db(fields=["trusted", "judged_by"])
    if reading.trusted is trusted and reading.judged_by_id is not None:
        return reading
    before = {"trusted": reading.trusted}
    reading.trusted, reading.judged_by = trusted, by
    reading.save(update_fields=["trusted", "judged_by"])
    explained = _take_back(reading) if trusted else 0
    after = {"trusted": trusted, "marks_taken_back": explained}
    record("judge reading", reading, by=by, now=now, fishery=fishery, before=before, after=after)
    return reading


def _as_they_stand(gauge: Gauge, first: dt.datetime, last: dt.datetime) -> list[trend.Reading]:
    """Readings from the last one believed before `first` up to `last`; those after it are marked already."""
    rows = Reading.objects.filter(gauge=gauge)
    good = rows.filter(NOT_DISTRUSTED, at__lt=first).order_by("-at").first()
    since = good.at if good else first
    return [_pure(row) for row in rows.filter(at__gte=since, at__lte=last).order_by("at")[:MOST_AT_ONCE]]


def _take_back(vouched: Reading) -> int:
    """Unmark the unbroken run of jumps after a reading that a person vouches for, as far as it explains them."""
    later = Reading.objects.filter(gauge=vouched.gauge_id, at__gt=vouched.at)
    end = later.filter(NOT_DISTRUSTED).order_by("at").first()
    run = later.filter(trusted=False).order_by("at")
    run = list((run.filter(at__lt=end.at) if end else run)[:MOST_AT_ONCE])
    series = [trend.Reading(row.at, row.level_m, None if row.judged_by_id is None else False) for row in run]
    marked = trend.marked([_pure(vouched), *series], _habits(vouched.gauge))[1:]
    cleared = [row.pk for row, mark in zip(run, marked, strict=True) if mark.trusted]
    return Reading.objects.filter(pk__in=cleared).update(trusted=None)


def _pure(row: Reading) -> trend.Reading:
    return trend.Reading(row.at, row.level_m, row.trusted)


def _habits(gauge: Gauge) -> trend.Habits:
    return trend.Habits(jump_m=gauge.jump_m)
