"""Writing the ledger: charges of lets, payments, refunds. Rows are only ever added."""

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
from bookings import reckoning, tariff
from bookings.models import Guest, LedgerEntry, Let, PaymentKey, Tariff
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


def charge(let: Let, *, by: User | None, now: dt.datetime) -> list[LedgerEntry]:
    """Bring what is charged on a let to what its rod-days cost today; nothing while a day has no price.

    Inside the transaction that made or changed the let.
    """
    if not Tariff.objects.filter(fishery=let.beat.fishery).exists():
        return []
    terms = terms_for_writing(let.beat.fishery)
    quote = reckoning.quote_of(let, terms=terms)
    if quote.unpriced or not quote.lines:
        return []
    charged, vat = reckoning.charged_on(let)
    more, more_vat = quote.gross - charged, quote.vat - vat
    if not more:
        return []
    facts = {"currency": terms.currency, "by": by, "now": now, "let": let}
    if not charged:
        return [_line(line, quote, **facts) for line in quote.lines if line.gross]
    kind = Kind.CHARGE if more > 0 else Kind.CREDIT
    return [_write(let.booker, kind, more, vat=more_vat, note="the let was changed", **facts)]


def credit(let: Let, *, freed: int, kept: int, by: User, now: dt.datetime) -> list[LedgerEntry]:
    """Take back, of the price of `freed` rod-days, the percent the let was cancelled with; `kept` were fished.

    Each rod-day counts alike. Inside the transaction that cancels.
    """
    charged, vat = reckoning.charged_on(let)
    percent = let.refund_percent or 0
    back = tariff.part_back(tariff.share(charged, freed, freed + kept), percent)
    if not back:
        return []
    facts = {"currency": terms_for_writing(let.beat.fishery).currency, "by": by, "now": now, "let": let}
    note = f"called off: {percent} % goes back"
    return [_write(let.booker, Kind.CREDIT, -back, vat=-tariff.to_penny(vat * back / charged), note=note, **facts)]


def hand_over(let: Let, *, by: User | None, now: dt.datetime) -> None:
    """What a let was charged to whoever booked it before is charged to whoever has booked it now."""
    rows = LedgerEntry.objects.filter(let=let, kind__in=reckoning.PRICE).exclude(guest=let.booker)
    sums = rows.values("guest", "currency").annotate(price=Sum("amount"), tax=Sum("vat")).order_by("guest")
    for row in [row for row in sums if row["price"] > 0]:
        former = Guest.objects.select_related("fishery").get(pk=row["guest"])
        note = f"let {let.pk} passed to another guest"
        facts = {"currency": row["currency"], "note": note, "let": let, "by": by, "now": now}
        _write(former, Kind.CREDIT, -row["price"], vat=-row["tax"], **facts)
        _write(let.booker, Kind.CHARGE, row["price"], vat=row["tax"], **facts)


def _line(line: tariff.Line, quote: tariff.Quote, *, let: Let, **facts: Any) -> LedgerEntry:
    told = f"{line.rod_days} rod-days at {line.rod_day}, {quote.kind.replace('_', ' ')}"
    return _write(let.booker, Kind.CHARGE, line.gross, vat=line.vat, note=told, let=let, **facts)


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
    if let is not None and let.booker_id != guest.pk:
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
    if kind == Kind.REFUND and reckoning.balance_of(guest) + sum_ > 0:
        raise NothingToRepay(
            say("So much was not paid in excess. Look at the statement and pay back what stands there.")
        )
    signed = sum_ if kind in LedgerEntry.OWED_MORE else -sum_
    vat = tariff.NOTHING
    if kind in reckoning.PRICE:
        vat = tariff.vat_within(signed, Decimal(terms.vat_percent))
    return _write(guest, kind, signed, vat=vat, currency=currency, let=let, booked_on=booked_on, **facts)


def _write(
    guest: Guest,
    kind: str,
    amount: Decimal,
    *,
    by: User | None,
    now: dt.datetime,
    booked_on: dt.date | None = None,
    **facts: Any,
) -> LedgerEntry:
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
