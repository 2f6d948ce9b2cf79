"""Statements, takings and a let's money, put together from the database. Reads only."""

import datetime as dt
from typing import Any

from beats.models import Fishery
from beats.queries import local_day
from bookings import let_prices, reckoning, tariff
from bookings import takings as pure
from bookings.models import Guest, LedgerEntry, Let
from bookings.papers.statement import Entry, GivenUp, Statement, sections


def statement(guest: Guest, *, now: dt.datetime) -> Statement:
    """Three queries."""
    rows = LedgerEntry.objects.filter(guest=guest).order_by("booked_on", "id")
    entries = [
        Entry(row.booked_on, row.get_kind_display(), row.let_id, row.reference, row.note, row.amount, row.vat)
        for row in rows
    ]
    currency = reckoning.terms_of(guest.fishery).currency
    given_up = tuple(GivenUp(let, line) for let, line in let_prices.given_up_lines(guest))
    return Statement(
        guest.fishery.name, guest.name, currency, tuple(entries), local_day(guest.fishery, now), given_up
    )


def printed(told: Statement, *, now: dt.datetime) -> bytes:
    from bookings.papers.printed import pdf  # noqa: PLC0415 - takes a second to load, and only printing needs it

    return pdf(told.title, sections(told), printed_at=now)


def let_money(let: Let, *, today: dt.date) -> dict[str, Any]:
    """A let's account, its agreed prices, who paid on it, and what today's tariff asks. Twelve queries at most.

    `by_hand` is what entries made by hand put on the price, or took off it.
    """
    terms = reckoning.terms_of(let.beat.fishery)
    account = reckoning.account_of(let, terms=terms, today=today)
    quote = reckoning.quote_of(let, terms=terms)
    names = ("currency", "price", "vat", "paid", "balance", "dues", "open_dues")
    lines = let_prices.agreed_lines(let)
    return {name: getattr(account, name) for name in names} | {
        "let": let.pk, "kind": quote.kind, "tariff_today": quote.lines,
        "unpriced_days": let_prices.unpriced_days(let, quote), "agreed": lines,
        "by_hand": account.price - sum((line.kept for line in lines), tariff.NOTHING),
        "payers": let_prices.payers_of(let),
    }  # fmt: skip


def takings(fishery: Fishery, year: int, *, today: dt.date) -> dict[str, Any]:
    """Twelve months and their sums. Four queries."""
    terms = reckoning.terms_of(fishery)
    months = pure.by_month(
        year,
        taken=reckoning.taken(fishery, year),
        open_dues=reckoning.open_dues(fishery, terms=terms, today=today),
        today=today,
    )
    return {
        "year": year,
        "currency": terms.currency,
        "taken": sum((month.taken for month in months), tariff.NOTHING),
        "to_come": sum((month.to_come for month in months), tariff.NOTHING),
        "months": months,
    }
