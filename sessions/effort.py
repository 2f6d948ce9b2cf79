"""Rod-days: how much was fished, month by month, from lets, turns and check-ins.

A rod-day is one rod on one day whatever the hours; blank days count; a month without fishing is a zero
that the owner states. Fishing for sea trout alone does not count, unless a salmon was caught that day (FAQ of
the rod effort survey, Topic Sheet 103, December 2018, as given by kylefisheries.org, 8 February 2019).
"""

import datetime as dt
from collections import Counter
from collections.abc import Iterable, Mapping
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

AnglerDay = tuple[int, dt.date]
"""One angler, by id, on one day."""


@dataclass(frozen=True)
class Seen:
    """One check-in: who, on which day at the river, whether for sea trout alone, and on which beat, by id."""

    guest: int
    day: dt.date
    sea_trout_only: bool
    beat: int = 0


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
    def counted(self) -> int | None:
        """The owner's figure, else what was let and not for sea trout alone; None where neither is known."""
        if self.decided is not None:
            return self.decided
        return self.booked - self.sea_trout_only if self.booked else None

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


@dataclass(frozen=True)
class LetRod:
    """One rod-day that was let: its beat, by id, its day, and whose rod it is, if that was named."""

    beat: int
    day: dt.date
    guest: int | None
    sharer: int | None = None


def rods_not_for_salmon(
    rods: Iterable[LetRod], seen: Iterable[Seen], left_out: AbstractSet[AnglerDay]
) -> list[dt.date]:
    """The date of each rod-day on which sea trout alone were fished for. `left_out` is of `not_for_salmon`.

    A rod let without a name is taken for that of an angler who was seen on its beat and holds no named rod;
    anglers for salmon come first, so that a rod counts where it is in doubt.
    """
    rods, seen = list(rods), list(seen)
    met = {(one.guest, one.day) for one in seen}
    named = [rod for rod in rods if rod.guest is not None]
    holders = {(person, rod.day) for rod in named for person in (rod.guest, rod.sharer)}
    days = [
        rod.day
        for rod in named
        if (rod.guest, rod.day) in left_out and (rod.sharer, rod.day) not in met - left_out
    ]
    unnamed = Counter((rod.beat, rod.day) for rod in rods if rod.guest is None)
    others = {(one.beat, one.guest, one.day) for one in seen if (one.guest, one.day) not in holders}
    trout = Counter((beat, day) for beat, guest, day in others if (guest, day) in left_out)
    salmon = Counter((beat, day) for beat, guest, day in others if (guest, day) not in left_out)
    for where, count in unnamed.items():
        days += [where[1]] * min(trout[where], max(count - salmon[where], 0))
    return days


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
