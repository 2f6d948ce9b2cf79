"""The fish and outings that a question of the review is about, asked of the database."""

import datetime as dt
from collections import Counter
from collections.abc import Iterable

from django.db.models import F, FloatField, Q, QuerySet
from django.db.models.expressions import CombinedExpression
from django.db.models.functions import Cast
from django.db.models.lookups import GreaterThan, LessThan

from beats.close_times import close_time
from beats.models import Fishery
from beats.queries import local_day, zone_of
from beats.season import season
from sessions.models import Catch, Outing
from sessions.monthly import CLASSES
from sessions.plausible import GRILSE_FROM_MONTH, ODD_K, ODD_LENGTHS_CM, ODD_WEIGHTS_KG

SUNDAY = 1
"""As the `week_day` lookup counts."""


def doubtful() -> Q:
    """Fish of unlikely size: `sessions.plausible.doubts` as a condition of the database."""
    found = Q(kind__in=("1sw", "farmed_1sw"), caught_on__month__lt=GRILSE_FROM_MONTH)
    for column, bands in (("weight_kg", ODD_WEIGHTS_KG), ("length_cm", ODD_LENGTHS_CM)):
        for kind, (low, high) in bands.items():
            found |= Q(kind=kind) & (Q(**{f"{column}__lt": low}) | Q(**{f"{column}__gt": high}))
    least, most = (float(each) for each in ODD_K)
    return found | Q(LessThan(factor(), least)) | Q(GreaterThan(factor(), most))


def factor() -> CombinedExpression:
    """Fulton's K of a fish, as `sessions.weights.condition` has it; null where a size is not known."""
    length = Cast(F("length_cm"), FloatField())
    return Cast(F("weight_kg"), FloatField()) * 100_000.0 / (length * length * length)


def by_month(days: Iterable[dt.date]) -> dict[int, int]:
    return dict(Counter(day.month for day in days))


def open_outings(fishery: Fishery, year: int, *, now: dt.datetime) -> QuerySet[Outing]:
    """Those of a year that are past their time back and were never checked out."""
    zone = zone_of(fishery)
    span = (dt.datetime(year, 1, 1, tzinfo=zone), dt.datetime(year + 1, 1, 1, tzinfo=zone))
    rows = Outing.objects.filter(beat__fishery=fishery, checked_out_at__isnull=True, due_back_at__lt=now)
    return rows.filter(checked_in_at__gte=span[0], checked_in_at__lt=span[1]).select_related("guest", "beat")


def open_by_month(fishery: Fishery, year: int, *, now: dt.datetime) -> dict[int, int]:
    rows = open_outings(fishery, year, now=now).values_list("checked_in_at", flat=True)
    return by_month(local_day(fishery, at) for at in rows)


def fish_in_question(fishery: Fishery, year: int, code: str, month: int | None) -> QuerySet[Catch]:
    """The fish that a question is about; none where it is not about single fish."""
    rows = Catch.objects.standing().filter(beat__fishery=fishery, caught_on__year=year)
    if month is not None:
        rows = rows.filter(caught_on__month=month)
    rows = rows.select_related("beat", "pool", "guest").order_by("caught_on", "id")
    counted = rows.filter(kind__in=CLASSES)
    law = season(close_time(fishery.district), year)
    outside = Q(caught_on__week_day=SUNDAY)
    if law:
        outside |= Q(caught_on__lt=law.first_on) | Q(caught_on__gt=law.last_on)
    asked = {
        "no-weight": counted.filter(weight_kg__isnull=True),
        "mean-weight": counted.filter(weight_kg__isnull=False),
        "doubtful-size": counted.filter(doubtful()),
        "no-effort": counted,
        "out-of-season": counted.filter(outside),
        "flagged": counted.exclude(flag=""),
        "two-books": counted,
    }
    return asked.get(code, rows.none())
