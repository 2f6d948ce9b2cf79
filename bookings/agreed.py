"""Agreed prices of a let, rod-day by rod-day: which stay, which move, which are given up. Pure arithmetic.

A let's price is agreed when it is confirmed and kept for each rod-day. A change of the let prices what is
new and nothing else:

- A rod-day that stays keeps its price, whatever the tariff and the terms say since.
- Rod-days dropped and added in one change are exchanged as far as they go. Where today's tariff asks the
  same for both, the price moves to the new day; where it does not, the old day is credited in full and the
  new one is priced.
- What is dropped and not exchanged is given up, by the refund policy.
- An added rod-day costs what the let agreed for the nearest day that today's tariff prices alike, with that
  day's VAT; where there is none, today's tariff and today's VAT.

That an agreed price stays is the law of contract; the rules of exchange are common practice, no source.
VAT Notice 700, paragraphs 18.2 and 30.7 (from memory): a credit is given at the rate of the supply it
reverses, whatever the rate is now.
"""

import datetime as dt
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from itertools import accumulate, pairwise

from bookings import tariff
from bookings.tariff import NOTHING, Line, Vat

Asked = Callable[[dt.date], Decimal | None]
"""What today's tariff asks for one rod on a day of the let as it is now; None where no row prices it."""


@dataclass(frozen=True)
class Agreed:
    """One rod on one day. `rod_day` None: no price was agreed; `like` is what today's tariff asks for it."""

    key: int
    day: dt.date
    rod_day: Decimal | None
    vat: Vat
    like: Decimal | None


@dataclass
class Changes:
    """What a change of the let does to its agreed prices."""

    kept: list[Agreed] = field(default_factory=list)
    moved: list[tuple[Agreed, dt.date]] = field(default_factory=list)
    exchanged: list[Agreed] = field(default_factory=list)
    given_up: list[Agreed] = field(default_factory=list)
    added: list[dt.date] = field(default_factory=list)


@dataclass(frozen=True)
class Priced:
    """Added rod-days of one price. `line` None: neither the let nor the tariff prices them."""

    rod_day: Decimal | None
    vat: Vat
    days: tuple[dt.date, ...]
    line: Line | None


def changes(standing: Sequence[Agreed], rods_by_day: Mapping[dt.date, int], asked: Asked) -> Changes:
    """Compare the agreed rod-days with those the let has now."""
    found, left = Changes(), dict(rods_by_day)
    dropped = []
    for one in sorted(standing, key=lambda each: each.key):
        if left.get(one.day, 0) and one.like == asked(one.day):
            found.kept.append(one)
            left[one.day] -= 1
        else:
            dropped.append(one)
    dropped.sort(key=lambda each: (each.day, each.key))
    missing = [day for day, count in sorted(left.items()) for _ in range(count)]
    for day in missing:
        if alike := [each for each in dropped if each.like == asked(day)]:
            one = nearest(alike, day)
            dropped.remove(one)
            found.moved.append((one, day))
        else:
            found.added.append(day)
    count = len(found.added)
    found.exchanged, found.given_up = dropped[:count], dropped[count:]
    return found


def nearest(rows: Iterable[Agreed], day: dt.date) -> Agreed:
    """The row of the nearest day; of two as near, the earlier, then the one agreed first."""
    return min(rows, key=lambda each: (abs(each.day - day), each.day, each.key))


def prices_for(
    added: Iterable[dt.date], *, standing: Sequence[Agreed], asked: Asked, vat_now: Vat
) -> list[Priced]:
    """Price added rod-days: at the let's own price for a day priced alike, else at today's."""
    groups: dict[tuple[Decimal | None, Vat], list[dt.date]] = {}
    for day in added:
        alike = [one for one in standing if one.rod_day is not None and one.like == asked(day)]
        one = nearest(alike, day) if alike else None
        price = (one.rod_day, one.vat) if one else (asked(day), vat_now)
        groups.setdefault(price, []).append(day)
    return [
        Priced(rod_day, vat, tuple(days), None if rod_day is None else tariff.line_of(rod_day, days, vat))
        for (rod_day, vat), days in groups.items()
    ]


def apportion(total: Decimal, weights: Sequence[Decimal]) -> list[Decimal]:
    """Divide a sum by weights, to the penny: the parts add up to it, each within a penny of its exact share.

    The odd pennies are spread evenly over the parts; a part of no weight is nothing.
    """
    whole = sum(weights, NOTHING)
    if not whole:
        return [NOTHING for _ in weights]
    so_far = [tariff.to_penny(total * sum_ / whole) for sum_ in accumulate(weights, initial=NOTHING)]
    return [after - before for before, after in pairwise(so_far)]


@dataclass(frozen=True)
class AgreedLine:
    """Rod-days of a let at one price, kept or given up together: `kept` of `gross` is charged.

    `refund_percent` None: not given up. `rod_day` None: no price was agreed, and nothing is charged.
    """

    first_on: dt.date
    last_on: dt.date
    rod_days: int
    rod_day: Decimal | None
    vat_percent: Decimal
    gross: Decimal
    vat: Decimal
    given_up_on: dt.date | None
    refund_percent: int | None
    credited: Decimal

    @property
    def net(self) -> Decimal:
        return self.gross - self.vat

    @property
    def kept(self) -> Decimal:
        return self.gross - self.credited


def shares(line: Line) -> list[tuple[Decimal, Decimal]]:
    """(gross, VAT) of each rod-day of a line, adding up to the line."""
    even = [Decimal(1)] * line.rod_days
    return list(zip(apportion(line.gross, even), apportion(line.vat, even), strict=True))


def given_back(sums: Sequence[tuple[Decimal, Decimal]], percent: int) -> list[tuple[Decimal, Decimal]]:
    """(gross, VAT) credited of each (gross, VAT) given up, so much percent of each, adding up to the penny."""
    gross, vat = [one for one, _ in sums], [one for _, one in sums]
    back = tariff.part_back(sum(gross, NOTHING), percent)
    tax = tariff.part_back(sum(vat, NOTHING), percent)
    return list(zip(apportion(back, gross), apportion(tax, vat), strict=True))
