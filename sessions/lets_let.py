"""What was let of a season: lets and rod-days by beat and month, and room for what they brought in."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

from django.db.models import Count
from django.db.models.functions import ExtractMonth

from beats.models import Fishery
from bookings.models import Let, RodDay


@dataclass(frozen=True)
class SeasonLets:
    """Counts by (beat, month). A let belongs to the month it begins in, a rod-day to its own.

    `takings` is money by (beat, month), in the smallest unit of `currency`; None where nobody keeps it here.
    """

    beats: list[str]
    months: list[int]
    lets: Mapping[tuple[str, int], int]
    rod_days: Mapping[tuple[str, int], int]
    takings: Mapping[tuple[str, int], int] | None = None
    currency: str = ""
    totals: tuple[int, int] = field(default=(0, 0))


def season_lets(
    fishery: Fishery, season: int, *, takings: Mapping[tuple[str, int], int] | None = None, currency: str = ""
) -> SeasonLets:
    """Confirmed lets of a whole year, days to come included. Three queries.

    `takings` are handed in by whoever knows the prices: a sum for each beat (by name) and month.
    """
    lets = Let.objects.filter(beat__fishery=fishery, first_on__year=season, status=Let.Status.CONFIRMED)
    held = RodDay.objects.filter(beat__fishery=fishery, day__year=season)
    begun, days = _by_month(lets, "first_on"), _by_month(held, "day")
    months = sorted({month for _, month in (*begun, *days, *(takings or ()))})
    beats = list(fishery.beats.order_by("order", "id").values_list("name", flat=True))
    return SeasonLets(
        beats, months, begun, days, takings, currency, (sum(begun.values()), sum(days.values()))
    )  # fmt: skip


def _by_month(rows, column: str) -> dict[tuple[str, int], int]:
    counted = rows.order_by().annotate(month=ExtractMonth(column)).values_list("beat__name", "month")
    found: Counter = Counter()
    for beat, month, number in counted.annotate(number=Count("id")):
        found[beat, month] += number
    return found
