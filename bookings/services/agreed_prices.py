"""Agreed prices of lets: written when a let is confirmed, kept through every change, credited by their own sums.

Each function writes ledger entries that add up to what it does to the agreed prices. Entries made by hand are
left as they are. Call inside the transaction that changes the let, with the let locked.
"""

import datetime as dt
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.db.models import Q, QuerySet

from beats.models import User
from beats.queries import local_day
from beats.shared import words
from bookings import agreed, let_prices, reckoning
from bookings.agreed import Agreed, Priced
from bookings.models import AgreedPrice, LedgerEntry, Let, Tariff
from bookings.services.ledger import write_entry
from bookings.services.terms import terms_for_writing
from bookings.tariff import NOTHING, Vat

Kind = LedgerEntry.Kind


def agree_prices(let: Let, *, by: User | None, now: dt.datetime) -> list[LedgerEntry]:
    """Bring the agreed prices and the ledger of a confirmed let up to its rod-days.

    Rod-days given up go by the refund policy, by the notice of the first of them. A let with a day that
    neither it nor the tariff prices is not charged when it is confirmed; nor is a let whose price was
    entered by hand.
    """
    rows = {row.pk: row for row in standing(let)}
    if not rows:
        return _agree_first(let, by=by, now=now)
    terms = terms_for_writing(let.beat.fishery)
    prices = let_prices.PricesToday(let)
    asked = prices.asked(let.beat_id)
    before = [_agreed(row, prices) for row in rows.values()]
    found = agreed.changes(before, reckoning.rods_by_day(let), asked)
    _keep(let, found, rows)
    written = _credit(let, [rows[one.key] for one in found.exchanged], 100, "other days instead", by=by, now=now)
    gone = [rows[one.key] for one in found.given_up]
    if gone:
        percent = reckoning.percent_back(
            let.beat.fishery, first_on=gone[0].day, today=local_day(let.beat.fishery, now)
        )
        written += _credit(let, gone, percent, "given up", by=by, now=now)
    vat_now = reckoning.vat_of(terms)
    added = agreed.prices_for(found.added, standing=before, asked=asked, vat_now=vat_now)
    return written + _charge(let, added, terms.currency, by=by, now=now)


def give_up_cancelled(let: Let, *, by: User, now: dt.datetime) -> list[LedgerEntry]:
    """Credit, of the prices of the rod-days a cancelled let gave up, the percent it was cancelled with."""
    percent = let.refund_percent or 0
    return _credit(let, given_up_of(let), percent, "called off", by=by, now=now)


def divide_prices(kept: Let, new: Let, *, by: User, now: dt.datetime) -> None:
    """Pass on to a part split off a let the prices of its rod-days, and what was charged for them."""
    rows = given_up_of(kept)
    gross, vat = _sums(rows)
    AgreedPrice.objects.filter(pk__in=[row.pk for row in rows]).update(let=new)
    if gross:
        facts: dict[str, Any] = {"currency": rows[0].currency, "by": by, "now": now}
        there = f"{_rod_days(rows)} passed to let {new.pk}"
        write_entry(kept.booker, Kind.CREDIT, -gross, vat=-vat, note=there, let=kept, **facts)
        here = f"{_rod_days(rows)} from let {kept.pk}, at the price agreed there"
        write_entry(new.booker, Kind.CHARGE, gross, vat=vat, note=here, let=new, **facts)


def standing(let: Let) -> QuerySet[AgreedPrice]:
    """The agreed prices of rod-days not given up."""
    return AgreedPrice.objects.filter(let=let, given_up_at=None).order_by("day", "pk")


def given_up_of(let: Let, *, from_on: dt.date | None = None) -> list[AgreedPrice]:
    """Agreed prices for which the let has no rod-day; with `from_on`, or would have none once cut off there.

    Of several rods on a day the ones agreed last go first.
    """
    left = reckoning.rods_by_day(let)
    if from_on is not None:
        left = {day: rods for day, rods in left.items() if day < from_on}
    gone = []
    for row in standing(let):
        if left.get(row.day, 0):
            left[row.day] -= 1
        else:
            gone.append(row)
    return gone


def _agree_first(let: Let, *, by: User | None, now: dt.datetime) -> list[LedgerEntry]:
    fishery = let.beat.fishery
    theirs = Q(let=let) | Q(let=let.split_from_id, entered_at__lte=let.made_at)
    by_hand = LedgerEntry.objects.filter(theirs, kind__in=reckoning.PRICE)
    if not Tariff.objects.filter(fishery=fishery).exists() or by_hand.exists():
        return []
    terms = terms_for_writing(fishery)
    days = [day for day, rods in reckoning.rods_by_day(let).items() for _ in range(rods)]
    asked = let_prices.PricesToday(let).asked(let.beat_id)
    priced = agreed.prices_for(days, standing=[], asked=asked, vat_now=reckoning.vat_of(terms))
    if any(one.line is None for one in priced):
        return []
    return _charge(let, priced, terms.currency, by=by, now=now)


def _agreed(row: AgreedPrice, prices: let_prices.PricesToday) -> Agreed:
    like = prices.asked(row.beat_id)(row.day)
    return Agreed(row.pk, row.day, row.rod_day, Vat(row.vat_percent, row.vat_included), like)


def _keep(let: Let, found: agreed.Changes, rows: dict[int, AgreedPrice]) -> None:
    for one, day in found.moved:
        rows[one.key].day = day
    staying = [rows[one.key] for one in (*found.kept, *(one for one, _ in found.moved))]
    for row in staying:
        row.beat = let.beat
    AgreedPrice.objects.bulk_update(staying, ["day", "beat"])


def _charge(
    let: Let, priced: Sequence[Priced], currency: str, *, by: User | None, now: dt.datetime
) -> list[LedgerEntry]:
    """Write the agreed prices of added rod-days, and a charge for each line of them."""
    rows, written = [], []
    for one in priced:
        sums = agreed.shares(one.line) if one.line else [(NOTHING, NOTHING)] * len(one.days)
        rows += [
            AgreedPrice(
                let=let, beat=let.beat, day=day, rod_day=one.rod_day, vat_percent=one.vat.percent,
                vat_included=one.vat.included, currency=currency, gross=gross, vat=vat, agreed_at=now,
            )
            for day, (gross, vat) in zip(one.days, sums, strict=True)
        ]  # fmt: skip
        if one.line and one.line.gross:
            note = f"{one.line.rod_days} rod-days at {one.rod_day}, {let.kind.replace('_', ' ')}"
            facts = {"vat": one.line.vat, "currency": currency, "note": note, "let": let}
            written.append(write_entry(let.booker, Kind.CHARGE, one.line.gross, by=by, now=now, **facts))
    AgreedPrice.objects.bulk_create(rows)
    return written


def _credit(
    let: Let, rows: Sequence[AgreedPrice], percent: int, why: str, *, by: User | None, now: dt.datetime
) -> list[LedgerEntry]:
    """Mark rod-days given up and credit so much percent of their own prices; the rest stays charged."""
    parts = agreed.given_back([(row.gross, row.vat) for row in rows], percent)
    for row, (gross, vat) in zip(rows, parts, strict=True):
        row.given_up_at, row.refund_percent, row.credited, row.credited_vat = now, percent, gross, vat
    AgreedPrice.objects.bulk_update(rows, ["given_up_at", "refund_percent", "credited", "credited_vat"])
    back, tax = sum((one for one, _ in parts), NOTHING), sum((one for _, one in parts), NOTHING)
    if not back:
        return []
    price, _vat = _sums(rows)
    note = f"{_rod_days(rows)} {why}: {percent} % of {price} goes back"
    if price - back:
        note += f", {price - back} is kept"
    facts = {"vat": -tax, "currency": rows[0].currency, "note": note, "let": let}
    return [write_entry(let.booker, Kind.CREDIT, -back, by=by, now=now, **facts)]


def _sums(rows: Sequence[AgreedPrice]) -> tuple[Decimal, Decimal]:
    return sum((row.gross for row in rows), NOTHING), sum((row.vat for row in rows), NOTHING)


def _rod_days(rows: Sequence[AgreedPrice]) -> str:
    """ "6 rod-days from Mon 11 May 2026"."""
    first = min(row.day for row in rows)
    return f"{len(rows)} rod-day{'' if len(rows) == 1 else 's'} from {words.day(first)}"
