"""What was agreed for a let, and who paid on it. Reads only."""

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Min, Q, Sum

from beats.models import Fishery
from beats.queries import local_day
from bookings import tariff
from bookings.agreed import AgreedLine, Asked
from bookings.models import AgreedPrice, Guest, LedgerEntry, Let
from bookings.reckoning import PAID, PRICE, pennies, prices_of, rods_by_day, season_starts
from bookings.season_weeks import week_of


@dataclass(frozen=True)
class Payer:
    """What one guest paid on a let, less what was paid back; `balance` is what they owe on it."""

    guest: int
    name: str
    paid: Decimal
    balance: Decimal
    has_let: bool

    @property
    def to_get_back(self) -> Decimal:
        return max(-self.balance, tariff.NOTHING)


class PricesToday:
    """What the tariff asks today for rods of a let's kind. One query."""

    def __init__(self, let: Let) -> None:
        self.fishery, self.kind = let.beat.fishery, str(let.kind)
        self.prices = prices_of(self.fishery)

    def asked(self, beat: int) -> Asked:
        """The price of one rod of that beat by day; None where no row prices it."""

        def price(day: dt.date) -> Decimal | None:
            week = week_of(day, season_starts(self.fishery.district, day.year))
            return tariff.price_on(day, week=week, beat=beat, kind=self.kind, prices=self.prices)

        return price


def agreed_on(let: Let) -> tuple[Decimal, Decimal]:
    """The agreed price of all rod-days of a let, given up or not, and the VAT in it."""
    told = AgreedPrice.objects.filter(let=let).aggregate(gross=Sum("gross"), vat=Sum("vat"))
    return pennies(told["gross"]), pennies(told["vat"])


def agreed_lines(let: Let) -> list[AgreedLine]:
    """The agreed prices of a let, a line for each price and each giving up, in the order of days. One query."""
    rows = AgreedPrice.objects.filter(let=let).order_by("day", "pk")
    return [line for _let, line in _lines(rows, let.beat.fishery)]


def given_up_lines(guest: Guest) -> list[tuple[int, AgreedLine]]:
    """(let, line) of the days given up of a booker's lets for which a part stays charged. One query."""
    rows = AgreedPrice.objects.filter(let__booker=guest, given_up_at__isnull=False).order_by("let", "day", "pk")
    return [(let, line) for let, line in _lines(rows, guest.fishery) if line.kept]


def _lines(rows: Iterable[AgreedPrice], fishery: Fishery) -> list[tuple[int, AgreedLine]]:
    groups: dict[tuple, list[AgreedPrice]] = {}
    for row in rows:
        key = (row.let_id, row.given_up_at, row.refund_percent, row.rod_day, row.vat_percent, row.vat_included)
        groups.setdefault(key, []).append(row)
    return [
        (let, AgreedLine(
            same[0].day, same[-1].day, len(same), rod_day, vat_percent, _total(same, "gross"),
            _total(same, "vat"), local_day(fishery, given_up_at) if given_up_at else None, percent,
            _total(same, "credited"),
        ))
        for (let, given_up_at, percent, rod_day, vat_percent, _included), same in groups.items()
    ]  # fmt: skip


def unpriced_days(let: Let, quote: tariff.Quote) -> tuple[dt.date, ...]:
    """Days without a price: by today's tariff for a hold, as agreed for a confirmed let. Three queries at most.

    A let confirmed without a price and not charged by hand has none for any of its days, though the tariff
    may have one by now.
    """
    rows = list(AgreedPrice.objects.filter(let=let).values_list("day", "rod_day", "given_up_at"))
    if rows:
        return tuple(sorted({day for day, price, gone in rows if price is None and not gone}))
    uncharged = let.confirmed_at is not None and not LedgerEntry.objects.filter(let=let, kind__in=PRICE).exists()
    return quote.unpriced or (tuple(rods_by_day(let)) if uncharged else ())


def payers_of(let: Let) -> list[Payer]:
    """Who paid on a let and where it stands, former bookers first. One query."""
    rows = LedgerEntry.objects.filter(let=let).values("guest", "guest__name")
    sums = rows.annotate(
        paid=Sum("amount", filter=Q(kind__in=PAID)), balance=Sum("amount"), first=Min("id")
    ).order_by("first")
    payers = [
        Payer(row["guest"], row["guest__name"], -pennies(row["paid"]), pennies(row["balance"]),
              has_let=row["guest"] == let.booker_id)
        for row in sums
        if row["paid"] is not None or pennies(row["balance"])
    ]  # fmt: skip
    return sorted(payers, key=lambda payer: payer.has_let)


def _total(rows: list[AgreedPrice], name: str) -> Decimal:
    return sum((getattr(row, name) for row in rows), tariff.NOTHING)
