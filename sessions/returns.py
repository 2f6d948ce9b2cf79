"""The return of a fishery for a season, from the book."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Q, Sum
from django.db.models.functions import ExtractMonth

from beats.close_times import close_time
from beats.models import Fishery
from beats.queries import local_day, zone_of
from beats.season import Season, season
from bookings.models import RodDay
from sessions.models import Catch, CatchQuerySet, Outing
from sessions.monthly import CLASSES, Fish, Month, table, totals
from sessions.review import Finding, review
from sessions.snapshot import content_hash, snapshot


@dataclass(frozen=True)
class SeasonReturn:
    """The monthly table of one season, and where its effort comes from.

    `state` is "data" when anything was caught or fished, else "nil". `rod_days_checked_in` counts
    the rods seen on the water by a check-in: where it differs from the rod-days let, ask why before
    signing anything.
    """

    fishery: Fishery
    year: int
    season: Season | None
    state: str
    months: list[Month]
    rod_days: int
    totals: dict
    rod_days_checked_in: int
    notes: list[str]
    snapshot: dict
    content_hash: str
    findings: list[Finding]


def season_return(fishery: Fishery, year: int, *, now: dt.datetime) -> SeasonReturn:
    """The statutory monthly table for a calendar year, up to today at the river. Five queries."""
    today = local_day(fishery, now)
    law = season(close_time(fishery.district), year)
    months = range(law.first_on.month, law.last_on.month + 1) if law else ()
    rows = table(_fish(fishery, year), rod_days=_rod_days(fishery, year, today), months=months)
    rod_days, sums = totals(rows)
    caught = sum(cell.number for kinds in sums.values() for cell in kinds.values())
    unweighed = sum(cell.unweighed for kinds in sums.values() for cell in kinds.values())
    notes = ["A rod let and not cancelled counts as fished on each of its days up to today; blank days count."]
    if unweighed:
        notes.append(f"{unweighed} fish have no weight in the book, so the total weights leave them out.")
    if today.year == year and law and today <= law.last_on:
        notes.append("The season is not over: these figures will grow.")
    state = "data" if caught or rod_days else "nil"
    made = snapshot(rows, fishery=fishery.name, district=fishery.district, season=year, state=state)
    over = law is None or today > law.last_on
    return SeasonReturn(
        fishery=fishery,
        year=year,
        season=law,
        state=state,
        months=rows,
        rod_days=rod_days,
        totals=sums,
        rod_days_checked_in=_checked_in(fishery, year),
        notes=notes,
        snapshot=made,
        content_hash=content_hash(made),
        findings=review(rows, made, **_odd_days(fishery, year, law), over=over),
    )


def counted(fishery: Fishery, year: int) -> CatchQuerySet:
    """The fish a season's return is made of."""
    return Catch.objects.standing().filter(beat__fishery=fishery, caught_on__year=year, kind__in=CLASSES)


def _odd_days(fishery: Fishery, year: int, law: Season | None) -> dict[str, int]:
    """How many fish are dated outside the season or on a Sunday, and how many the law has something against."""
    outside = Q(caught_on__week_day=1)
    if law:
        outside |= Q(caught_on__lt=law.first_on) | Q(caught_on__gt=law.last_on)
    return counted(fishery, year).aggregate(
        outside=Count("id", filter=outside), flagged=Count("id", filter=~Q(flag=""))
    )


def _fish(fishery: Fishery, year: int) -> list[Fish]:
    groups = (
        counted(fishery, year)
        .annotate(month=ExtractMonth("caught_on"))
        .values("month", "kind", "fate")
        .annotate(
            number=Count("id"),
            weight=Sum("weight_kg"),
            unweighed=Count("id", filter=Q(weight_kg__isnull=True)),
        )
        .order_by("month", "kind", "fate")
    )
    return [
        Fish(row["month"], row["kind"], row["fate"], row["number"], _kg(row["weight"]), row["unweighed"])
        for row in groups
    ]


def _kg(total: Decimal | None) -> Decimal:
    """A sum to the hundredth of a kilogram it is written in: SQLite adds decimals as floats, which this undoes."""
    return (total or Decimal(0)).quantize(Decimal("0.01"))


def _rod_days(fishery: Fishery, year: int, today: dt.date) -> dict[int, int]:
    groups = (
        RodDay.objects.filter(beat__fishery=fishery, day__year=year, day__lte=today)
        .annotate(month=ExtractMonth("day"))
        .values("month")
        .annotate(days=Count("id"))
        .order_by("month")
    )
    return {row["month"]: row["days"] for row in groups}


def _checked_in(fishery: Fishery, year: int) -> int:
    """Distinct guests and local dates with a check-in."""
    zone = zone_of(fishery)
    span = (dt.datetime(year, 1, 1, tzinfo=zone), dt.datetime(year + 1, 1, 1, tzinfo=zone))
    starts = Outing.objects.filter(beat__fishery=fishery, checked_in_at__gte=span[0], checked_in_at__lt=span[1])
    pairs = starts.values_list("guest_id", "checked_in_at").iterator()
    return len({(guest, local_day(fishery, at)) for guest, at in pairs})
