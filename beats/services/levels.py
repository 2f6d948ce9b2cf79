"""Many readings at once: from a logger, from an owner's file, from a feed. Hand readings are in `river`."""

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.db import transaction
from django.http import Http404

from beats.audit import record
from beats.models import Gauge, GaugeKey, Reading, User
from beats.queries import Role, require_role, zone_of
from beats.services.gauge_history import add_to_history, known_range, margin_of
from beats.services.plausible_level import LevelUnlikely, what_was_understood
from beats.services.river import CLOCK_SKEW, NotYetRead, put_reading
from beats.services.trust import faults
from beats.shared import words
from beats.shared.phrases import say
from beats.shared.refusals import NotYours
from beats.shared.rows import locked
from beats.water import quality
from beats.water.feeds import csv_readings
from beats.water.feeds.levels import Level
from beats.water.gauge_history import outside

AT_ONCE = 500


class KeyGone(NotYours):
    """The gauge's key was revoked or ran out meanwhile."""

    code = "key-gone"
    title = say("Key revoked or expired")


@dataclass(frozen=True)
class Noted:
    """What became of many readings: new, known already, and at odds with the level that stands."""

    added: int = 0
    known: int = 0
    read_otherwise: int = 0


@transaction.atomic
def note_by_keeper(
    gauge: Gauge, levels: Sequence[Level], *, by: User, now: dt.datetime, confirmed: bool = False
) -> Noted:
    """Keep many readings of a keeper's. Raises NotYetRead, LevelUnlikely (and keeps none), NotYours.

    Levels far outside the gauge's history are refused unless `confirmed`, and then vouched for by the keeper.
    """
    require_role(by, gauge.fishery, Role.OWNER, Role.GHILLIE)
    _refuse_the_future(levels, now)
    gauge = locked(Gauge.objects.select_related("fishery"), pk=gauge.pk)
    unlikely = _unlikely(gauge, levels)
    if unlikely and not confirmed:
        raise LevelUnlikely(
            say(
                "{count} of these levels are far outside what {gauge} has shown; nothing was kept. Check them, or "
                "send confirmed: true.",
                count=len(unlikely),
                gauge=gauge.name,
            ),
            errors=dict(list(unlikely.items())[:50]),
        )
    vouched = {levels[place].at for place in map(_place, unlikely)}
    return note_readings(gauge, levels, source=Reading.Source.HAND, by=by, now=now, vouched=vouched)


def _unlikely(gauge: Gauge, levels: Sequence[Level]) -> dict[str, list[str]]:
    """The new levels far outside the gauge's history, by the name of their field."""
    seen, margin_m, found = known_range(gauge), margin_of(gauge), {}
    stored = set(
        Reading.objects.filter(gauge=gauge, at__in=[level.at for level in levels]).values_list("at", "level_m")
    )
    for place, level in sorted(enumerate(levels), key=lambda each: each[1].at):
        if (level.at, level.level_m) in stored:
            continue
        if outside(level.level_m, seen, margin_m=margin_m):
            found[f"readings.{place}.level_m"] = [what_was_understood(gauge, level.level_m, seen)]
        else:
            seen = seen.with_level(level.level_m)
    return found


def _place(field: str) -> int:
    return int(field.split(".")[1])


@transaction.atomic
def note_by_logger(key: GaugeKey, levels: Sequence[Level], *, gauge_id: int, now: dt.datetime) -> Noted:
    """Keep what a logger read at its own gauge. Raises NotYetRead (and keeps none), Http404, KeyGone."""
    _use(key, gauge_id, now)
    _refuse_the_future(levels, now)
    return note_readings(key.gauge, levels, source=Reading.Source.LOGGER, by=None, now=now)


@transaction.atomic
def note_one_by_logger(key: GaugeKey, level: Level, *, gauge_id: int, now: dt.datetime) -> tuple[Reading, bool]:
    """Keep one reading of a logger. Returns (reading, new?). Raises as `note_by_logger`, and ReadOtherwise."""
    _use(key, gauge_id, now)
    return put_reading(key.gauge, level, source=Reading.Source.LOGGER, by=None, now=now)


def import_readings(gauge: Gauge, data: bytes, *, by: User, now: dt.datetime) -> Noted:
    """Keep the readings of a CSV file. Raises FaultyReadings (and keeps none), NotYours."""
    require_role(by, gauge.fishery, Role.OWNER, Role.GHILLIE)
    levels = csv_readings.read(data, zone=zone_of(gauge.fishery), latest=now + CLOCK_SKEW)
    return note_readings(gauge, levels, source=Reading.Source.CSV, by=by, now=now)


@transaction.atomic
def note_readings(
    gauge: Gauge,
    levels: Sequence[Level],
    *,
    source: str,
    by: User | None,
    now: dt.datetime,
    vouched: Collection[dt.datetime] = (),
) -> Noted:
    """Keep readings in any order. An instant read already keeps its first level; the same again changes nothing.

    Faults are marked, save at the instants in `vouched`, which `by` confirmed. The gauge's row is held, so that
    the counts are true of this call; the unique constraint decides.
    """
    gauge = locked(Gauge.objects.select_related("fishery"), pk=gauge.pk)
    added = known = otherwise = 0
    kept: list[quality.Reading] = []
    ordered = sorted(levels, key=lambda level: level.at)
    for start in range(0, len(ordered), AT_ONCE):
        some = ordered[start : start + AT_ONCE]
        stands = dict(
            Reading.objects.filter(gauge=gauge, at__in=[level.at for level in some]).values_list("at", "level_m")
        )
        fresh = {level.at: level for level in reversed(some) if level.at not in stands}
        doubtful = faults(
            gauge,
            [quality.Reading(at, level.level_m, True if at in vouched else None) for at, level in fresh.items()],
        )
        facts = {"gauge": gauge, "source": source, "by": by}
        rows = [
            Reading(
                at=at,
                level_m=level.level_m,
                water_c=level.water_c,
                trusted=True if at in vouched else False if at in doubtful else None,
                judged_by=by if at in vouched else None,
                **facts,
            )
            for at, level in fresh.items()
        ]
        Reading.objects.bulk_create(rows, ignore_conflicts=True)
        kept += [quality.Reading(row.at, row.level_m, row.trusted) for row in rows]
        stands |= {at: level.level_m for at, level in fresh.items()}
        at_odds = sum(stands[level.at] != level.level_m for level in some)
        added, otherwise = added + len(fresh), otherwise + at_odds
        known += len(some) - len(fresh) - at_odds
    noted = Noted(added, known, otherwise)
    if added:
        add_to_history(gauge, kept)
        _record(gauge, levels, noted, source=source, by=by, now=now)
    return noted


def _record(gauge, levels, noted: Noted, *, source: str, by: User | None, now: dt.datetime) -> None:
    span = {"first": min(level.at for level in levels), "last": max(level.at for level in levels)}
    facts = {"source": source, "added": noted.added, "read_otherwise": noted.read_otherwise} | span
    record("note readings", gauge, by=by, now=now, fishery=gauge.fishery, after=facts)


def _use(key: GaugeKey, gauge_id: int, now: dt.datetime) -> None:
    """Note the use of a key, if it still holds: one that was revoked a moment ago must not write."""
    if key.gauge_id != gauge_id:
        raise Http404
    holds = GaugeKey.objects.filter(pk=key.pk, revoked_at__isnull=True, expires_at__gt=now)
    if not holds.update(last_used_at=now):
        raise KeyGone(say("This key was revoked or has run out; nothing was kept. Ask the owner for a new one."))


def _refuse_the_future(levels: Sequence[Level], now: dt.datetime) -> None:
    late = {
        f"readings.{place}.at": [f"{words.instant(level.at)} UTC is still to come."]
        for place, level in enumerate(levels)
        if level.at > now + CLOCK_SKEW
    }
    if late:
        raise NotYetRead(
            say(
                "{late} of these readings are dated in the future; nothing was kept. Check the logger's clock.",
                late=len(late),
            ),
            errors=dict(list(late.items())[:50]),
        )
