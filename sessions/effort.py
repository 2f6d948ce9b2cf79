"""Rod-days: how much was fished, month by month, from lets, turns and check-ins.

A rod-day is one rod on one day whatever the hours; blank days count; a month without fishing is a
stated zero. Fishing for sea trout alone does not count, unless a salmon was caught that day (FAQ of
the rod effort survey, Topic Sheet 103, December 2018, as given by kylefisheries.org, 8 February 2019).
"""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

AnglerDay = tuple[int, dt.date]
"""One angler, by id, on one day."""


@dataclass(frozen=True)
class Seen:
    """One check-in: who, on which day at the river, and whether for sea trout alone."""

    guest: int
    day: dt.date
    sea_trout_only: bool


@dataclass(frozen=True)
class MonthEffort:
    """Rod-days of one month by where they come from; `decided` is the owner's word over all of them."""

    month: int
    booked: int = 0
    planned: int = 0
    checked_in: int = 0
    sea_trout_only: int = 0
    decided: int | None = None
    reason: str = ""

    @property
    def counted(self) -> int:
        """What the return says: the owner's word, else what was let and not for sea trout alone."""
        if self.decided is not None:
            return self.decided
        return self.booked - self.sea_trout_only

    @property
    def difference(self) -> int:
        """Rod-days let beyond those seen on the water; negative when more were seen."""
        return self.booked - self.checked_in


def not_for_salmon(seen: Iterable[Seen], caught_salmon: Iterable[AnglerDay]) -> frozenset[AnglerDay]:
    """Angler-days on which sea trout alone were fished for and no salmon came."""
    seen = list(seen)
    trout = {(one.guest, one.day) for one in seen if one.sea_trout_only}
    others = {(one.guest, one.day) for one in seen if not one.sea_trout_only}
    return frozenset(trout - others - set(caught_salmon))


def by_month(
    *,
    booked: Mapping[int, int],
    planned: Mapping[int, int],
    seen: Iterable[Seen],
    left_out: Iterable[dt.date],
    decided: Mapping[int, tuple[int, str]],
    months: Iterable[int],
) -> list[MonthEffort]:
    """Every month of `months` and every other with anything in it, in order. `left_out` has a date a rod-day."""
    met = Counter(day.month for _, day in {(one.guest, one.day) for one in seen})
    out = Counter(day.month for day in left_out)
    every = sorted({*months, *booked, *planned, *met, *decided})
    return [
        MonthEffort(
            month, booked.get(month, 0), planned.get(month, 0), met[month], out[month],
            *decided.get(month, (None, "")),
        )
        for month in every
    ]  # fmt: skip
