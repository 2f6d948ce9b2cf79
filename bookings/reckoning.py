"""What the book says of money: terms, prices, what a let costs, what a guest owes. Reads only."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from django.db.models import Count, Sum

from beats import close_times, season
from beats.models import Fishery
from beats.queries import local_day
from beats.shared.phrases import say
from bookings import tariff
from bookings.models import Guest, LedgerEntry, Let, RefundStep, Tariff, Terms
from bookings.refunds import refund_percent

PRICE = (LedgerEntry.Kind.CHARGE, LedgerEntry.Kind.CREDIT)
PAID = (LedgerEntry.Kind.PAYMENT, LedgerEntry.Kind.REFUND)


@dataclass(frozen=True)
class Account:
    """One let's money: its price as charged, what was paid on it, what is due and when."""

    price: Decimal
    vat: Decimal
    paid: Decimal
    currency: str
    dues: tuple[tariff.Due, ...]
    open_dues: tuple[tariff.Due, ...]

    @property
    def balance(self) -> Decimal:
        return self.price - self.paid


def terms_of(fishery: Fishery) -> Terms:
    """The fishery's terms; the usual ones, not yet kept, when it has written none."""
    return Terms.objects.select_related("fishery").filter(fishery=fishery).first() or Terms(fishery=fishery)


def vat_of(terms: Terms) -> tariff.Vat:
    return tariff.Vat(Decimal(terms.vat_percent), terms.vat_included)


def prices_of(fishery: Fishery) -> list[tariff.Price]:
    return [
        tariff.Price(
            rod_day=row.rod_day,
            first_on=row.first_on,
            last_on=row.last_on,
            beat=row.beat_id,
            kind=row.kind or None,
            first_week=row.first_week,
            last_week=row.last_week,
        )
        for row in Tariff.objects.filter(fishery=fishery).order_by("id")
    ]


def quote_of(let: Let, *, terms: Terms) -> tariff.Quote:
    """What a let's rod-days cost today. Two queries."""
    fishery, rods = let.beat.fishery, rods_by_day(let)
    years = {day.year for day in rods}
    return tariff.quote(
        rods,
        beat=let.beat_id,
        kind=str(let.kind),
        prices=prices_of(fishery),
        season_starts={year: season_starts(fishery.district, year) for year in years},
        vat=vat_of(terms),
    )


def rods_by_day(let: Let) -> dict[dt.date, int]:
    rows = let.rod_days.values("day").annotate(rods=Count("id")).order_by("day")
    return {row["day"]: row["rods"] for row in rows}


@lru_cache(maxsize=500)
def season_starts(district: str, year: int) -> dt.date:
    """The first lawful day of a year; New Year's Day where the table knows none."""
    known = season.season(close_times.close_time(district), year)
    return known.first_on if known else dt.date(year, 1, 1)


def balance_of(guest: Guest) -> Decimal:
    """What a guest owes, below nothing when the fishery owes them: the sum of their entries."""
    return _sum(LedgerEntry.objects.filter(guest=guest))


def balance_on(let: Let, guest: Guest) -> Decimal:
    """What a guest owes on one let; below nothing when the fishery owes them."""
    return _sum(LedgerEntry.objects.filter(let=let, guest=guest))


def charged_on(let: Let) -> tuple[Decimal, Decimal]:
    """The price charged on a let so far to its booker, and the VAT in it."""
    rows = LedgerEntry.objects.filter(let=let, guest=let.booker_id, kind__in=PRICE)
    told = rows.aggregate(amount=Sum("amount"), vat=Sum("vat"))
    return pennies(told["amount"]), pennies(told["vat"])


def percent_back(fishery: Fishery, *, first_on: dt.date, today: dt.date) -> int:
    """What the refund policy gives back of days given up today, the first of them on `first_on`. One query."""
    steps = RefundStep.objects.filter(policy__fishery=fishery).values_list("notice_days", "percent")
    return refund_percent(steps, first_on=first_on, today=today)


def account_of(let: Let, *, terms: Terms, today: dt.date) -> Account:
    """What its booker was charged for a let and paid on it. Two queries.

    Payments of former bookers count on their own accounts: see `let_prices.payers_of`.
    """
    price, vat = charged_on(let)
    paid = -_sum(LedgerEntry.objects.filter(let=let, guest=let.booker_id, kind__in=PAID))
    parts = dues_of(let, price, terms=terms, today=today)
    return Account(price, vat, paid, terms.currency, tuple(parts), tuple(_open(parts, price, paid, today)))


def dues_of(let: Let, price: Decimal, *, terms: Terms, today: dt.date) -> list[tariff.Due]:
    """The parts of a price. What is left of a let called off is due at once."""
    if price <= 0:
        return []
    if let.status == Let.Status.CANCELLED:
        return [tariff.Due(today, price, say("kept by the terms"))]
    return tariff.dues(
        price,
        made_on=local_day(terms.fishery, let.confirmed_at or let.made_at),
        first_on=let.first_on,
        deposit_percent=terms.deposit_percent,
        deposit_days=terms.deposit_days,
        balance_days=terms.balance_days,
    )


def open_dues(fishery: Fishery, *, terms: Terms, today: dt.date) -> list[tariff.Due]:
    """What the bookers of a fishery's lets owe on them. Two queries."""
    sums: dict[tuple[int, int], dict[bool, Decimal]] = {}
    rows = LedgerEntry.objects.filter(fishery=fishery, let__isnull=False).values("let", "guest", "kind")
    for row in rows.annotate(amount=Sum("amount")).order_by():
        kept = sums.setdefault((row["let"], row["guest"]), {True: tariff.NOTHING, False: tariff.NOTHING})
        kept[row["kind"] in PAID] += pennies(row["amount"])
    found = []
    for let in Let.objects.filter(beat__fishery=fishery, pk__in=LedgerEntry.objects.values("let")):
        kept = sums.get((let.pk, let.booker_id), {True: tariff.NOTHING, False: tariff.NOTHING})
        paid, price = -kept[True], kept[False]
        found += _open(dues_of(let, price, terms=terms, today=today), price, paid, today)
    return found


def _open(parts: list[tariff.Due], price: Decimal, paid: Decimal, today: dt.date) -> list[tariff.Due]:
    """What is still to pay: always the balance, and nothing where the fishery owes."""
    left = tariff.still_due(parts, paid)
    missing = price - paid - sum((due.amount for due in left), tariff.NOTHING)
    return [*left, tariff.Due(today, missing, say("the rest"))] if missing > 0 else left


def taken(fishery: Fishery, year: int) -> list[tuple[dt.date, Decimal]]:
    """Paid in, and paid back below nothing, by day. One query."""
    rows = LedgerEntry.objects.filter(fishery=fishery, kind__in=PAID, booked_on__year=year)
    return [(row["booked_on"], -row["sum"]) for row in rows.values("booked_on").annotate(sum=Sum("amount"))]


def _sum(rows) -> Decimal:
    return pennies(rows.aggregate(sum=Sum("amount"))["sum"])


def pennies(amount: Decimal | None) -> Decimal:
    """To the penny: SQLite sums lose the noughts behind the point."""
    return tariff.NOTHING if amount is None else tariff.to_penny(amount)
