"""The effort of a season, asked of the database."""

import datetime as dt
from collections.abc import Iterable

from django.db.models import Count, QuerySet
from django.db.models.functions import ExtractMonth

from beats.models import Fishery
from beats.queries import local_day, zone_of
from sessions.effort import LetRod, MonthEffort, Seen, by_month, not_for_salmon, rods_not_for_salmon
from sessions.models import Catch, EffortDecision, Rota, Turn
from sessions.queries import outings_seen, rods_let

SALMON = ("msw", "1sw", "farmed_msw", "farmed_1sw", "kelt")


def season_effort(fishery: Fishery, year: int, *, today: dt.date, months: Iterable[int]) -> list[MonthEffort]:
    """Rod-days of a year up to today, month by month. Six queries."""
    let = rods_let(fishery).filter(day__year=year, day__lte=today)
    seen = _seen(fishery, year)
    left_out = not_for_salmon(seen, _salmon_days(fishery, year, {one.guest for one in seen if one.sea_trout_only}))
    held = let.filter(day__in={day for _, day in left_out}).order_by()
    rods = [LetRod(*row) for row in held.values_list("beat_id", "day", "guest_id", "sharer_id")]
    return by_month(
        booked=_counts(let),
        planned=_planned(fishery, year, today),
        seen=seen,
        left_out=rods_not_for_salmon(rods, seen, left_out),
        decided=_decided(fishery, year),
        months=months,
    )


def _counts(rows: QuerySet) -> dict[int, int]:
    months = rows.annotate(month=ExtractMonth("day")).values("month").annotate(days=Count("id")).order_by("month")
    return {row["month"]: row["days"] for row in months}


def _planned(fishery: Fishery, year: int, today: dt.date) -> dict[int, int]:
    """Rods that a published rota sent to a pool, once a day."""
    turns = Turn.objects.filter(
        rota__beat__fishery=fishery, rota__status=Rota.Status.PUBLISHED, day__year=year, day__lte=today
    )
    days = turns.order_by().values_list("rota__beat", "day", "rod").distinct()
    found: dict[int, int] = {}
    for _, day, _ in days:
        found[day.month] = found.get(day.month, 0) + 1
    return found


def _seen(fishery: Fishery, year: int) -> list[Seen]:
    zone = zone_of(fishery)
    span = (dt.datetime(year, 1, 1, tzinfo=zone), dt.datetime(year + 1, 1, 1, tzinfo=zone))
    starts = outings_seen().filter(beat__fishery=fishery, checked_in_at__gte=span[0], checked_in_at__lt=span[1])
    rows = starts.values_list("guest_id", "checked_in_at", "sea_trout_only", "beat_id").iterator()
    return [Seen(guest, local_day(fishery, at), only, beat) for guest, at, only, beat in rows]


def _salmon_days(fishery: Fishery, year: int, guests: set[int]) -> set[tuple[int, dt.date]]:
    fish = Catch.objects.standing().filter(
        beat__fishery=fishery, caught_on__year=year, guest__in=guests, kind__in=SALMON
    )
    return set(fish.values_list("guest_id", "caught_on"))


def _decided(fishery: Fishery, year: int) -> dict[int, tuple[int, str]]:
    """The owner's last word on each month."""
    rows = EffortDecision.objects.filter(fishery=fishery, season=year).order_by("id")
    return {row.month: (row.rod_days, row.reason) for row in rows}
