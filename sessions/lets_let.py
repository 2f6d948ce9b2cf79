"""What was let of a season, by beat and month, and what it brought in."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.db.models import Count
from django.db.models.functions import ExtractMonth

from beats.models import Fishery
from bookings.models import Let
from bookings.takings import Month
from sessions.queries import rods_let


@dataclass(frozen=True)
class SeasonLets:
    """Counts by (beat, month): a let belongs to the month it begins in, a rod-day to its own.

    `takings` are the ledger's twelve months in `currency`.
    """

    beats: list[str]
    months: list[int]
    lets: Mapping[tuple[str, int], int]
    rod_days: Mapping[tuple[str, int], int]
    totals: tuple[int, int]
    takings: Sequence[Month]
    currency: str


def season_lets(fishery: Fishery, season: int, *, takings: Sequence[Month], currency: str) -> SeasonLets:
    """Confirmed lets of a whole year, days to come included. Three queries.

    A let cancelled half-way is no let here, but its days fished are rod-days.
    """
    lets = Let.objects.filter(beat__fishery=fishery, first_on__year=season, status=Let.Status.CONFIRMED)
    begun, days = _by_month(lets, "first_on"), _by_month(rods_let(fishery).filter(day__year=season), "day")
    money = {row.first_on.month for row in takings if row.taken or row.to_come}
    months = sorted({month for _, month in (*begun, *days)} | money)
    beats = list(fishery.beats.order_by("order", "id").values_list("name", flat=True))
    totals = (sum(begun.values()), sum(days.values()))
    return SeasonLets(beats, months, begun, days, totals, takings, currency)


def _by_month(rows, column: str) -> dict[tuple[str, int], int]:
    counted = rows.order_by().annotate(month=ExtractMonth(column)).values_list("beat__name", "month")
    found: Counter = Counter()
    for beat, month, number in counted.annotate(number=Count("id")):
        found[beat, month] += number
    return found
