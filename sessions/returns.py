"""The return of a fishery for a season, from the book."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Count, Q, Sum

from beats.close_times import close_time
from beats.models import Fishery
from beats.queries import local_day
from beats.season import SUNDAY, Season, season
from beats.shared.phrases import say
from sessions.effort import MonthEffort
from sessions.efforts import season_effort
from sessions.models import Catch, CatchQuerySet
from sessions.monthly import CLASSES, Fish, Month, table, totals
from sessions.old_totals import old_months
from sessions.review import Finding, from_old_books, review
from sessions.snapshot import content_hash, snapshot


@dataclass(frozen=True)
class SeasonReturn:
    """The monthly table of one season, and where its effort comes from.

    `state` is "data" when anything was caught or fished, else "nil". `rod_days_checked_in` counts
    the rods seen on the water by a check-in: where it differs from the rod-days let, ask why before
    signing anything. `made_of` is "months" where the season has monthly totals instead of fish.
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
    effort: list[MonthEffort]
    snapshot: dict
    content_hash: str
    findings: list[Finding]
    made_of: str = "fish"


def season_return(fishery: Fishery, year: int, *, now: dt.datetime) -> SeasonReturn:
    """The statutory monthly table for a calendar year, up to today at the river. Eight queries."""
    today = local_day(fishery, now)
    law = season(close_time(fishery.district), year)
    months = range(law.first_on.month, law.last_on.month + 1) if law else ()
    effort = season_effort(fishery, year, today=today, months=months)
    days, old = _days(fishery, year), old_months(fishery, year)
    made_of = "fish" if days or not old.fish else "months"
    rows = table(
        _fish(days) if made_of == "fish" else old.fish,
        rod_days={each.month: each.counted for each in effort},
        months=months,
    )
    rod_days, sums = totals(rows)
    caught = sum(cell.number for kinds in sums.values() for cell in kinds.values())
    unweighed = sum(cell.unweighed for kinds in sums.values() for cell in kinds.values())
    notes = [
        say("A rod let and not cancelled counts as fished on each of its days up to today; blank days count.")
    ]
    if unweighed:
        notes.append(
            say("{count} fish have no weight in the book, so the total weights leave them out.", count=unweighed)
        )
    if today.year == year and law and today <= law.last_on:
        notes.append(say("The season is not over: these figures will grow."))
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
        rod_days_checked_in=sum(each.checked_in for each in effort),
        effort=effort,
        notes=notes,
        snapshot=made,
        content_hash=content_hash(made),
        findings=[
            *review(rows, made, **_odd_days(days, law), over=over, effort=effort),
            *from_old_books(sum(row["number"] for row in days), sum(one.number for one in old.fish), old.books),
        ],
        made_of=made_of,
    )


def counted(fishery: Fishery, year: int) -> CatchQuerySet:
    """The fish a season's return is made of."""
    return Catch.objects.standing().filter(beat__fishery=fishery, caught_on__year=year, kind__in=CLASSES)


def _days(fishery: Fishery, year: int) -> list[dict]:
    """The fish of each day, class and fate, in one question; SQLite is slow to tell the month of a date."""
    days = counted(fishery, year).order_by().values("caught_on", "kind", "fate")
    return list(
        days.annotate(
            number=Count("id"),
            weight=Sum("weight_kg"),
            unweighed=Count("id", filter=Q(weight_kg__isnull=True)),
            flagged=Count("id", filter=~Q(flag="")),
        )
    )


def _odd_days(days: list[dict], law: Season | None) -> dict[str, int]:
    """How many fish are dated outside the season or on a Sunday, and how many the law has something against."""

    def outside(day: dt.date) -> bool:
        return day.weekday() == SUNDAY or (law is not None and not law.first_on <= day <= law.last_on)

    return {
        "outside": sum(row["number"] for row in days if outside(row["caught_on"])),
        "flagged": sum(row["flagged"] for row in days),
    }


def _fish(days: list[dict]) -> list[Fish]:
    return [
        Fish(row["caught_on"].month, row["kind"], row["fate"], row["number"], _kg(row["weight"]), row["unweighed"])
        for row in days
    ]


def _kg(total: Decimal | None) -> Decimal:
    """A sum to the hundredth of a kilogram it is written in: SQLite adds decimals as floats, which this undoes."""
    return (total or Decimal(0)).quantize(Decimal("0.01"))
