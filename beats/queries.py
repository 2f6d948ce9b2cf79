"""Who may see which water, and what the water says on a day. The only place that decides it here."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from zoneinfo import ZoneInfo

from django.db import connection
from django.db.models import QuerySet
from django.http import Http404

from beats import close_times, light, season
from beats.models import Beat, Fishery, Gauge, GaugeKey, Membership, Pool, User
from beats.shared import words
from beats.shared.refusals import NotYours

Role = Membership.Role


def fisheries_visible_to(user: User) -> QuerySet[Fishery]:
    return Fishery.objects.filter(memberships__user=user)


def fisheries_kept_by(user: User) -> QuerySet[Fishery]:
    """Fisheries where the person is a keeper."""
    return Fishery.objects.filter(memberships__user=user, memberships__role__in=Membership.KEEPERS)


def beats_visible_to(user: User) -> QuerySet[Beat]:
    return Beat.objects.filter(fishery__in=fisheries_visible_to(user)).select_related("fishery", "gauge")


def pools_visible_to(user: User) -> QuerySet[Pool]:
    return Pool.objects.filter(beat__fishery__in=fisheries_visible_to(user)).select_related("beat__fishery")


def gauges_visible_to(user: User) -> QuerySet[Gauge]:
    return Gauge.objects.filter(fishery__in=fisheries_visible_to(user)).select_related("fishery")


def gauge_keys_visible_to(user: User) -> QuerySet[GaugeKey]:
    """Keys of the gauges one may see; only the owner may list or revoke them."""
    return GaugeKey.objects.filter(gauge__fishery__in=fisheries_visible_to(user)).select_related("gauge__fishery")


def role_in(user: User, fishery: Fishery) -> str | None:
    return Membership.objects.filter(user=user, fishery=fishery).values_list("role", flat=True).first()


def require_role(user: User, fishery: Fishery, *roles: str) -> str:
    """The person's part; a stranger gets a 404, a member with another part is told whose it is."""
    role = role_in(user, fishery)
    if role is None:
        raise Http404
    if role not in roles:
        raise NotYours(f"At {fishery.name} only the {' or the '.join(roles)} may do this. Ask them.")
    return role


def zone_of(fishery: Fishery) -> ZoneInfo:
    return ZoneInfo(fishery.time_zone)


def local_day(fishery: Fishery, now: dt.datetime) -> dt.date:
    """The date at the river at an instant."""
    return now.astimezone(zone_of(fishery)).date()


def rulings(fishery: Fishery, days: Iterable[dt.date]) -> list[season.Ruling]:
    """How each day stands at this fishery, by law and by the house. Two queries, however many days."""
    close_time = close_times.close_time(fishery.district)
    grades = [(row.from_on, season.Grade(row.grade)) for row in fishery.grades.all()]
    house = [
        season.HouseRule(
            season.Status(rule.status),
            season.Period(season.MonthDay.parse(rule.start), season.MonthDay.parse(rule.end)),
            rule.reason,
        )
        for rule in fishery.rules.all()
    ]
    return list(_judged(close_time, tuple(days), tuple(grades), tuple(house)))


@lru_cache(maxsize=32)
def _judged(close_time, days, grades, house) -> tuple[season.Ruling, ...]:
    """The same month is asked about all morning, and the law is a function of what it is given."""
    return tuple(season.ruling(close_time, day, grades=grades, house_rules=house) for day in days)


def light_on(fishery: Fishery, day: dt.date) -> light.Light:
    return light.light(day, latitude=fishery.latitude, longitude=fishery.longitude, zone=zone_of(fishery))


# Written by hand: every page of conditions asks them, and the ORM takes ten times as long to say the same.
# Both are one walk along the unique index of (gauge, at).
NEWEST = "SELECT at, level_m FROM beats_reading WHERE gauge_id = %s AND at <= %s ORDER BY at DESC LIMIT 1"
BETWEEN = "SELECT at, level_m FROM beats_reading WHERE gauge_id = %s AND at >= %s AND at <= %s ORDER BY at"


def newest_level(gauge_id: int, now: dt.datetime) -> tuple[dt.datetime, float] | None:
    """When the gauge was last read at `now`, and its level in metres. One query."""
    rows = _readings(NEWEST, gauge_id, now)
    return rows[0] if rows else None


def levels_between(gauge_id: int, first: dt.datetime, last: dt.datetime) -> list[tuple[dt.datetime, float]]:
    """When the gauge was read between two instants, both included, and its levels; in order. One query."""
    return _readings(BETWEEN, gauge_id, first, last)


def _readings(sql: str, gauge_id: int, *instants: dt.datetime) -> list[tuple[dt.datetime, float]]:
    with connection.cursor() as cursor:
        cursor.execute(sql, [gauge_id, *map(connection.ops.adapt_datetimefield_value, instants)])
        rows = cursor.fetchall()
    if connection.vendor == "sqlite":  # keeps instants in UTC and does not say so
        return [(at.replace(tzinfo=dt.UTC), level_m) for at, level_m in rows]
    return rows


@dataclass(frozen=True)
class Level:
    """The newest reading of a beat's gauge, and how old it is. `stale` when too old to trust."""

    gauge: Gauge
    level_m: float | None
    at: dt.datetime | None
    age_minutes: int | None
    stale: bool

    @property
    def words(self) -> str:
        if self.level_m is None or self.age_minutes is None:
            return f"{self.gauge.name}: no reading yet. Look at the river itself."
        old = " This is old: look at the river itself." if self.stale else ""
        return f"{self.gauge.name}: {self.level_m:.2f} m, read {words.minutes(self.age_minutes)} ago.{old}"


def level_at(beat: Beat, now: dt.datetime) -> Level | None:
    """What the beat's gauge last said at `now`; None when the beat has no gauge."""
    gauge = beat.gauge
    if gauge is None:
        return None
    newest = newest_level(gauge.pk, now)
    if newest is None:
        return Level(gauge, None, None, None, stale=True)
    at, level_m = newest
    age = int((now - at).total_seconds() // 60)
    return Level(gauge, level_m, at, age, stale=age > gauge.stale_after_minutes)
