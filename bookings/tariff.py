"""What a let costs and when it is due: exact, in decimals.

A tariff is rows of prices, each for one rod on one day. The row that says most about a day decides:
one for the beat before one for all beats, one for the kind of let before one for all kinds, the
shorter run of weeks before the longer, the one in force later before the earlier.

VAT is reckoned line by line and rounded as HMRC's manual has it, VATREC12030: less than half a penny
down, half a penny or more up; VATREC12010 and VAT Notice 700 paragraph 17.5 allow the nearer penny.
What the house itself divides (a deposit, a refund) is rounded the same way; common practice, no source.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from bookings.season_weeks import week_of

PENNY = Decimal("0.01")
NOTHING = Decimal("0.00")
MOST = Decimal("9999999.99")
LAST_WEEK = 53


class BadMoney(Refusal):
    """An amount that cannot be paid."""

    code = "bad-money"
    title = say("Not an amount of money")
    status = 400


class CurrencyMix(Refusal):
    """A fishery's book is kept in one currency."""

    code = "currency-mix"
    title = say("Another currency")


@dataclass(frozen=True)
class Price:
    """One row of a tariff. `beat` None is every beat, `kind` None every kind of let; both dates included."""

    rod_day: Decimal
    first_on: dt.date
    last_on: dt.date | None = None
    beat: int | None = None
    kind: str | None = None
    first_week: int = 1
    last_week: int = LAST_WEEK

    def fits(self, day: dt.date, *, week: int, beat: int, kind: str) -> bool:
        in_force = self.first_on <= day and (self.last_on is None or day <= self.last_on)
        for_it = self.beat in (None, beat) and self.kind in (None, kind)
        return in_force and for_it and self.first_week <= week <= self.last_week

    @property
    def rank(self) -> tuple[bool, bool, int, dt.date]:
        """The more it says, the higher."""
        return self.beat is not None, self.kind is not None, self.first_week - self.last_week, self.first_on


@dataclass(frozen=True)
class Vat:
    """The rate in percent, and whether prices hold it already."""

    percent: Decimal
    included: bool = True


@dataclass(frozen=True)
class Line:
    """Rod-days of one price: gross = net + vat, to the penny."""

    first_on: dt.date
    last_on: dt.date
    rod_days: int
    rod_day: Decimal
    gross: Decimal
    vat: Decimal

    @property
    def net(self) -> Decimal:
        return self.gross - self.vat


@dataclass(frozen=True)
class Quote:
    """What a let costs; `unpriced` are days that no row prices, and then there is no total."""

    kind: str
    lines: tuple[Line, ...]
    unpriced: tuple[dt.date, ...] = ()

    @property
    def gross(self) -> Decimal:
        return sum((line.gross for line in self.lines), NOTHING)

    @property
    def vat(self) -> Decimal:
        return sum((line.vat for line in self.lines), NOTHING)


@dataclass(frozen=True)
class Due:
    """A part of the price and the last day to pay it."""

    due_on: dt.date
    amount: Decimal
    what: str


def money(amount: Decimal) -> Decimal:
    """The amount to the penny. Raises BadMoney for one that is none: NaN, half a penny, too much."""
    if not amount.is_finite() or abs(amount) > MOST:
        raise BadMoney(
            say("Write an amount up to {most}.", most=MOST), errors={"amount": [say("No such amount.")]}
        )
    if amount != amount.quantize(PENNY):
        raise BadMoney(
            say("There is no coin below a penny. Give the amount in whole pennies, such as 85.00."),
            errors={"amount": [say("Whole pennies only.")]},
        )
    return amount.quantize(PENNY)


def one_currency(kept_in: str, given: str) -> None:
    """Raises CurrencyMix."""
    if kept_in != given:
        raise CurrencyMix(
            say(
                "This fishery keeps its book in {kept_in}. Change the amount into {kept_in} and enter that.",
                kept_in=kept_in,
            ),
            errors={"currency": [say("{kept_in} only.", kept_in=kept_in)]},
        )


def to_penny(amount: Decimal) -> Decimal:
    """To the nearest penny, a half penny away from nothing."""
    return amount.quantize(PENNY, rounding=ROUND_HALF_UP)


def vat_on(net: Decimal, percent: Decimal) -> Decimal:
    """The tax to be laid on a price without it."""
    return to_penny(net * percent / 100)


def vat_within(gross: Decimal, percent: Decimal) -> Decimal:
    """The tax held in a price: the VAT fraction, at 20 percent one sixth (VAT Notice 700)."""
    return to_penny(gross * percent / (100 + percent))


def quote(
    rods_by_day: Mapping[dt.date, int],
    *,
    beat: int,
    kind: str,
    prices: Sequence[Price],
    season_starts: Mapping[int, dt.date],
    vat: Vat,
) -> Quote:
    """The price of rods on days, a line for each price in the order of days.

    `season_starts` gives the first lawful day of each year the days lie in.
    """
    by_price: dict[Decimal, list[dt.date]] = defaultdict(list)
    unpriced = []
    for day, rods in sorted(rods_by_day.items()):
        week = week_of(day, season_starts[day.year])
        price = price_on(day, week=week, beat=beat, kind=kind, prices=prices)
        if price is None:
            unpriced.append(day)
        else:
            by_price[price] += [day] * rods
    lines = sorted((line_of(price, days, vat) for price, days in by_price.items()), key=lambda line: line.first_on)
    return Quote(kind, tuple(lines), tuple(unpriced))


def price_on(day: dt.date, *, week: int, beat: int, kind: str, prices: Sequence[Price]) -> Decimal | None:
    """What one rod costs on a day, by the row that says most about it; None where no row prices it."""
    fitting = [price for price in prices if price.fits(day, week=week, beat=beat, kind=kind)]
    return max(fitting, key=lambda price: price.rank).rod_day if fitting else None


def line_of(rod_day: Decimal, days: Sequence[dt.date], vat: Vat) -> Line:
    """Rod-days of one price, a day as often as it has rods; VAT is worked out on the line."""
    count = len(days)
    told = rod_day * count
    tax = vat_within(told, vat.percent) if vat.included else vat_on(told, vat.percent)
    return Line(min(days), max(days), count, rod_day, told if vat.included else told + tax, tax)


def dues(
    total: Decimal,
    *,
    made_on: dt.date,
    first_on: dt.date,
    deposit_percent: int,
    deposit_days: int,
    balance_days: int,
) -> list[Due]:
    """A deposit some days after booking, the rest some days before fishing, and never after it.

    A let made when the rest is due already is due whole.
    """
    rest_on = max(made_on, first_on - dt.timedelta(days=balance_days))
    deposit_on = min(made_on + dt.timedelta(days=deposit_days), first_on)
    deposit = to_penny(total * deposit_percent / 100)
    if deposit_on >= rest_on or not deposit:
        return [Due(rest_on, total, say("the whole price"))]
    parts = [Due(deposit_on, deposit, say("deposit")), Due(rest_on, total - deposit, say("the rest"))]
    return [due for due in parts if due.amount]


def still_due(parts: Sequence[Due], paid: Decimal) -> list[Due]:
    """What is left of each part when payments fill the earliest first."""
    left, open_parts = paid, []
    for due in parts:
        settled = min(max(left, NOTHING), due.amount)
        left -= settled
        if due.amount > settled:
            open_parts.append(Due(due.due_on, due.amount - settled, due.what))
    return open_parts


def part_back(price: Decimal, percent: int) -> Decimal:
    """What is credited of a price when so much of it goes back."""
    return to_penny(price * percent / 100)
