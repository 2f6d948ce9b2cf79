"""Terms and tariff: what the owner asks for the water."""

import datetime as dt
from decimal import Decimal
from typing import Any

from django.db import IntegrityError, transaction

from beats.audit import record
from beats.models import Beat, Fishery, User
from beats.queries import Role, require_role
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal, Stale
from bookings import tariff, terms_limits
from bookings.models import Tariff, Terms


class PriceKnown(Refusal):
    """The tariff has a row for this span already."""

    code = "price-known"
    title = say("Priced already")


class BadPrice(Refusal):
    """A row of the tariff that makes no sense."""

    code = "bad-price"
    title = say("This price makes no sense")
    status = 400


class BadTerms(Refusal):
    """Terms that no let could be made by."""

    code = "bad-terms"
    title = say("These terms will not do")
    status = 400


@transaction.atomic
def change_terms(fishery: Fishery, *, facts: dict[str, Any], version: int, by: User, now: dt.datetime) -> Terms:
    """Change terms that are still at `version`; 1 when none were ever written.

    Raises BadTerms, Stale, CurrencyMix, NotYours.
    """
    require_role(by, fishery, Role.OWNER)
    if wrong := terms_limits.faults(facts):
        raise BadTerms(say("These terms will not do. Mend what is named, and send them again."), errors=wrong)
    terms, _ = Terms.objects.get_or_create(fishery=fishery)
    before = {name: str(getattr(terms, name)) for name in facts}
    try:
        with transaction.atomic():
            changed = Terms.objects.filter(pk=terms.pk, version=version).update(version=version + 1, **facts)
    except IntegrityError:  # the trigger: there are entries in the old currency
        tariff.one_currency(terms.currency, facts["currency"])
        raise
    if not changed:
        raise Stale(
            say("Somebody changed these terms since you read them. Read them again, then make your change.")
        )
    terms.refresh_from_db()
    record("change terms", terms, by=by, now=now, fishery=fishery, before=before, after=facts)
    return terms


def add_price(
    fishery: Fishery,
    *,
    beat: Beat | None,
    rod_day: Decimal,
    currency: str,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
    **span: Any,
) -> tuple[Tariff, bool]:
    """One row of the tariff. Returns (row, new?). Raises BadMoney, BadPrice, CurrencyMix, PriceKnown, NotYours."""
    require_role(by, fishery, Role.OWNER)
    amount = tariff.money(rod_day)
    if amount < 0:
        raise BadPrice(say("A price is nothing or more."), errors={"rod_day": [say("Not below nothing.")]})
    _refuse_backward(**span)

    def make(columns: dict[str, Any]) -> Tariff:
        terms = terms_for_writing(fishery)
        tariff.one_currency(terms.currency, currency)
        try:
            with transaction.atomic():
                row = Tariff.objects.create(fishery=fishery, beat=beat, rod_day=amount, **span, **columns)
        except IntegrityError:
            raise PriceKnown(
                say(
                    "The tariff has a price for this beat, kind, weeks and first day. End that row, then "
                    "add this one."
                )
            ) from None
        facts = {"rod_day": amount, "beat": beat.slug if beat else "every beat"} | span
        record("add price", row, by=by, now=now, fishery=fishery, after=facts)
        return row

    return make_once(Tariff, by=by, once=once, make=make)


@transaction.atomic
def end_price(row: Tariff, *, last_on: dt.date, by: User, now: dt.datetime) -> Tariff:
    """The last day of fishing a row prices. What was charged by it stays charged."""
    require_role(by, row.fishery, Role.OWNER)
    if last_on < row.first_on:
        raise BadPrice(
            say("The row begins on {row_first_on}. End it on that day or later.", row_first_on=row.first_on),
            errors={"last_on": [say("Before the first day.")]},
        )
    before = {"last_on": row.last_on}
    Tariff.objects.filter(pk=row.pk).update(last_on=last_on)
    row.last_on = last_on
    record("end price", row, by=by, now=now, fishery=row.fishery, before=before, after={"last_on": last_on})
    return row


def terms_for_writing(fishery: Fishery) -> Terms:
    """The terms, kept from now on if they were not."""
    return Terms.objects.get_or_create(fishery=fishery)[0]


def _refuse_backward(
    *, first_on: dt.date, last_on: dt.date | None, first_week: int, last_week: int, kind: str
) -> None:
    del kind
    if last_on is not None and last_on < first_on:
        raise BadPrice(
            say("The last day is before the first. Swap them."), errors={"last_on": [say("Before first_on.")]}
        )
    if last_week < first_week:
        raise BadPrice(
            say("The last week is before the first. Swap them."), errors={"last_week": [say("Too small.")]}
        )
