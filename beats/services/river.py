"""What the ghillie notes at the river: a level read, a pool closed, a pool opened again."""

import datetime as dt
from enum import Enum

from django.db import transaction

from beats.audit import record
from beats.models import Gauge, Pool, PoolClosure, Reading, User
from beats.queries import Role, require_role
from beats.services.gauge_history import add_to_history
from beats.services.plausible_level import refuse_unconfirmed, refuse_unlikely
from beats.services.trust import faults, judged
from beats.shared import words
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from beats.water import quality
from beats.water.feeds.levels import Level

CLOCK_SKEW = dt.timedelta(minutes=2)


class Doubts(Enum):
    """Which levels noted by a person are refused until they confirm them."""

    NONE = "none"
    HISTORY = "far outside the gauge's history"
    ALL = "that, and whatever would not be believed at once"


class NotYetRead(Refusal):
    """A reading from the future."""

    code = "reading-in-the-future"
    title = say("Reading in the future")
    status = 400


class ReadOtherwise(Refusal):
    """The gauge already has another level for this instant."""

    code = "read-otherwise"
    title = say("Already read, with another level")


@transaction.atomic
def note_reading(
    gauge: Gauge,
    *,
    level_m: float,
    at: dt.datetime,
    by: User,
    now: dt.datetime,
    water_c: float | None = None,
    confirmed: bool = False,
    doubts: Doubts = Doubts.HISTORY,
) -> tuple[Reading, bool]:
    """Keep a level (metres) read at an instant, and the water's temperature. The same again changes nothing.

    `doubts`: which levels are refused unless `confirmed`; a confirmed level is vouched for by its keeper.
    Returns (reading, new?). Raises NotYetRead, ReadOtherwise, LevelUnlikely, NotYours.
    """
    require_role(by, gauge.fishery, Role.OWNER, Role.GHILLIE)
    level = Level(at, level_m, water_c)
    gauge = locked(Gauge.objects.select_related("fishery"), pk=gauge.pk)
    if not confirmed and not Reading.objects.filter(gauge=gauge, at=at).exists():
        _refuse_in_doubt(gauge, level, doubts)
    return put_reading(gauge, level, source=Reading.Source.HAND, by=by, now=now, vouched=confirmed)


def _refuse_in_doubt(gauge: Gauge, level: Level, doubts: Doubts) -> None:
    if doubts is Doubts.NONE:
        return
    refuse_unlikely(gauge, level.level_m)
    if doubts is Doubts.ALL:
        refuse_unconfirmed(gauge, judged(gauge, [quality.Reading(level.at, level.level_m)])[level.at])


def put_reading(
    gauge: Gauge, level: Level, *, source: str, by: User | None, now: dt.datetime, vouched: bool = False
) -> tuple[Reading, bool]:
    """Keep one reading, inside a transaction, for a caller who may. Raises NotYetRead, ReadOtherwise.

    `vouched`: the person confirmed the level. Otherwise a fault is marked; a machine's level far outside the
    gauge's history counts as one.
    """
    at, level_m = level.at, level.level_m
    if at > now + CLOCK_SKEW:
        raise NotYetRead(
            say(
                "The reading is dated {words_instant} {at:%Z}, which is still to come. Check the clock.",
                words_instant=words.instant(at),
                at=at,
            )
        )
    gauge = locked(Gauge.objects.select_related("fishery"), pk=gauge.pk)
    facts = {"level_m": level_m, "water_c": level.water_c, "source": source}
    mark = {"trusted": True, "judged_by": by} if vouched else {}
    if not vouched and faults(gauge, [quality.Reading(at, level_m)]):
        mark = {"trusted": False}
    reading, made = Reading.objects.get_or_create(gauge=gauge, at=at, defaults=facts | mark | {"by": by})
    if not made and reading.level_m != level_m:
        raise ReadOtherwise(
            say(
                "At that instant {gauge_name} already reads {reading_level_m} m. If that is wrong, correct that "
                "reading; otherwise give your own reading its own time.",
                gauge_name=gauge.name,
                reading_level_m=reading.level_m,
            )
        )
    if made:
        add_to_history(gauge, [quality.Reading(at, level_m, reading.trusted)])
        told = {"trusted": mark["trusted"]} if mark else {}
        record("note reading", reading, by=by, now=now, fishery=gauge.fishery, after=facts | told | {"at": at})
    return reading, made


@transaction.atomic
def close_pool(
    pool: Pool, *, from_on: dt.date, to_on: dt.date, reason: str, by: User, now: dt.datetime
) -> tuple[PoolClosure, bool]:
    """Close a pool by hand for dates both included; the next rota leaves it out.

    The same days again change nothing. Returns (closure, new?).
    """
    fishery = pool.beat.fishery
    require_role(by, fishery, Role.OWNER, Role.GHILLIE)
    closure, made = PoolClosure.objects.get_or_create(
        pool=pool, from_on=from_on, to_on=to_on, defaults={"reason": reason}
    )
    if not made:
        return closure, False
    facts = {"pool": pool.slug, "from_on": from_on, "to_on": to_on, "reason": reason}
    record("close pool", closure, by=by, now=now, fishery=fishery, after=facts)
    return closure, True


@transaction.atomic
def reopen_pool(closure: PoolClosure, *, by: User, now: dt.datetime) -> None:
    """Take a closure away."""
    fishery = closure.pool.beat.fishery
    require_role(by, fishery, Role.OWNER, Role.GHILLIE)
    record("reopen pool", closure, by=by, now=now, fishery=fishery, before={"reason": closure.reason})
    closure.delete()
