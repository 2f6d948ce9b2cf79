"""Writing the ledger: payments, refunds, sums by hand, transfers. Rows are only ever added."""

import datetime as dt
import json
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Sum

from beats.audit import record
from beats.models import Fishery, User
from beats.queries import Role, local_day, require_role
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import KeyReused, Refusal
from beats.shared.rows import locked
from bookings import let_prices, reckoning, tariff
from bookings.models import Guest, LedgerEntry, Let, PaymentKey
from bookings.services.terms import terms_for_writing

Kind = LedgerEntry.Kind


class NotTheirLet(Refusal):
    """The let was booked by somebody else."""

    code = "not-their-let"
    title = say("Another guest's let")


class NothingToRepay(Refusal):
    """More would be paid back than was paid."""

    code = "nothing-to-repay"
    title = say("More than was paid")


def enter(
    guest: Guest,
    *,
    let: Let | None,
    kind: str,
    amount: Decimal,
    currency: str,
    reference: str,
    note: str,
    booked_on: dt.date | None,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[LedgerEntry, bool]:
    """What the owner writes down by hand. `amount` is above nothing; its kind says which way it points.

    Returns (entry, new?). Raises BadMoney, CurrencyMix, NotTheirLet, NothingToRepay, NotYours, KeyReused.
    """
    require_role(by, guest.fishery, Role.OWNER)

    def make(columns: dict[str, Any]) -> LedgerEntry:
        facts = {"reference": reference, "note": note} | columns
        return _add(guest, let, kind, amount, currency, booked_on=booked_on, by=by, now=now, **facts)

    return make_once(LedgerEntry, by=by, once=once, make=make)


def paid_by_message(
    key: PaymentKey, *, hook_id: str, body: bytes, let: Let, facts: dict[str, Any], now: dt.datetime
) -> tuple[LedgerEntry, bool]:
    """A payment that a signed message reports. The same message again is the same entry.

    Returns (entry, new?). Raises KeyReused when the id came with another body, and as `enter` does.
    """
    asked = Once.of(hook_id, json.loads(body))
    earlier = _reported(key.fishery, hook_id, asked)
    if earlier:
        return earlier, False
    try:
        with transaction.atomic():
            entry = _add(
                let.booker, let, Kind.PAYMENT, facts["amount"], facts["currency"], booked_on=None, by=None,
                now=now, reference=facts["reference"], note=f"reported by {key.label}"[:200], hook_id=hook_id,
                request_fingerprint=asked.fingerprint,
            )  # fmt: skip
    except IntegrityError:
        earlier = _reported(key.fishery, hook_id, asked)
        if earlier is None:
            raise
        return earlier, False
    return entry, True


def hand_over(let: Let, *, by: User | None, now: dt.datetime) -> None:
    """Charge the present booker what a let was charged to former bookers, and credit it to them.

    The whole price goes along, entries made by hand included. What a former booker paid stays on their
    own account until it is paid back.
    """
    rows = LedgerEntry.objects.filter(let=let, kind__in=reckoning.PRICE).exclude(guest=let.booker)
    sums = rows.values("guest", "currency").annotate(price=Sum("amount"), tax=Sum("vat")).order_by("guest")
    for row in sums:
        price, vat = reckoning.pennies(row["price"]), reckoning.pennies(row["tax"])  # SQLite adds up floats
        if not price:
            continue
        former = Guest.objects.select_related("fishery").get(pk=row["guest"])
        note = f"let {let.pk} passed to another guest"
        facts = {"currency": row["currency"], "note": note, "let": let, "by": by, "now": now}
        there, here = (Kind.CREDIT, Kind.CHARGE) if price > 0 else (Kind.CHARGE, Kind.CREDIT)
        write_entry(former, there, -price, vat=-vat, **facts)
        write_entry(let.booker, here, price, vat=vat, **facts)


def _add(
    guest: Guest,
    let: Let | None,
    kind: str,
    amount: Decimal,
    currency: str,
    *,
    booked_on: dt.date | None,
    **facts: Any,
) -> LedgerEntry:
    if let is not None and let.booker_id != guest.pk and not (kind == Kind.REFUND and _paid_on(let, guest)):
        raise NotTheirLet(
            say(
                "{guest_name} did not book that let. Name the guest who did, or leave the let out.",
                guest_name=guest.name,
            ),
            errors={"let": [say("Booked by another guest.")]},
        )
    terms = terms_for_writing(guest.fishery)
    tariff.one_currency(terms.currency, currency)
    sum_ = tariff.money(amount)
    if sum_ <= 0:
        raise tariff.BadMoney(say("Give an amount above nothing."), errors={"amount": [say("Above nothing.")]})
    if kind == Kind.REFUND:
        locked(Guest.objects, pk=guest.pk)  # two at once may not pay the same sum back
    if kind == Kind.REFUND:
        _refuse_overpaying(guest, let, sum_)
    signed = sum_ if kind in LedgerEntry.OWED_MORE else -sum_
    vat = tariff.NOTHING
    if kind in reckoning.PRICE:
        vat = _vat_by_hand(let, kind, signed, Decimal(terms.vat_percent))
    return write_entry(guest, kind, signed, vat=vat, currency=currency, let=let, booked_on=booked_on, **facts)


def _paid_on(let: Let, guest: Guest) -> bool:
    return LedgerEntry.objects.filter(let=let, guest=guest, kind=Kind.PAYMENT).exists()


def _refuse_overpaying(guest: Guest, let: Let | None, amount: Decimal) -> None:
    """Refuse to pay back more than the guest has to get, in all and on the let named."""
    if reckoning.balance_of(guest) + amount > 0:
        raise NothingToRepay(
            say("So much was not paid in excess. Look at the statement and pay back what stands there.")
        )
    if let is not None and (over := reckoning.balance_on(let, guest)) + amount > 0:
        raise NothingToRepay(
            say(
                "On let {let_pk} {guest_name} has {sum_} to get back. Enter that, and the rest for the let "
                "it was paid on, or without a let.",
                let_pk=let.pk, guest_name=guest.name, sum_=max(-over, tariff.NOTHING),
            )
        )  # fmt: skip


def _vat_by_hand(let: Let | None, kind: str, signed: Decimal, percent: Decimal) -> Decimal:
    """VAT held in a sum entered by hand: today's for a charge; for a credit on a let, as its price holds it.

    VAT Notice 700, paragraph 18.2 (from memory): a credit note is at the rate of the original supply.
    """
    price, vat = let_prices.agreed_on(let) if let is not None and kind == Kind.CREDIT else (tariff.NOTHING,) * 2
    return tariff.to_penny(signed * vat / price) if price else tariff.vat_within(signed, percent)


def write_entry(
    guest: Guest,
    kind: str,
    amount: Decimal,
    *,
    by: User | None,
    now: dt.datetime,
    booked_on: dt.date | None = None,
    **facts: Any,
) -> LedgerEntry:
    """Write one row of the ledger and of the audit trail; `amount` with its sign."""
    columns = {"made_by": by} | facts
    entry = LedgerEntry.objects.create(
        fishery=guest.fishery,
        guest=guest,
        kind=kind,
        amount=amount,
        booked_on=booked_on or local_day(guest.fishery, now),
        entered_at=now,
        **columns,
    )
    told = {"kind": str(kind), "amount": amount, "guest": guest.pk, "let": facts["let"] and facts["let"].pk}
    record("enter in ledger", entry, by=by, now=now, fishery=guest.fishery, after=told)
    return entry


def _reported(fishery: Fishery, hook_id: str, asked: Once) -> LedgerEntry | None:
    row = LedgerEntry.objects.filter(fishery=fishery, hook_id=hook_id).first()
    if row is not None and row.request_fingerprint != asked.fingerprint:
        raise KeyReused(say("This webhook-id came before with another message. Use a new id for a new payment."))
    return row
