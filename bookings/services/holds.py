"""The doors of a let: held, confirmed, cancelled. Each opens one way and once, whoever presses first.

A door is an UPDATE that names the state it leaves: of two hands at it the database lets one through.
"""

import datetime as dt
from typing import Any

from django.db import transaction
from django.db.models import F, Min

from beats.audit import record
from beats.models import Beat, Fishery, User
from beats.queries import Role, local_day, require_role, zone_of
from beats.shared import words
from beats.shared.phrases import say
from beats.shared.refusals import NotYours, Refusal, Stale
from beats.shared.rows import locked, locked_unless_busy
from bookings.models import Let, LettingPolicy, Offer, Waiting
from bookings.reckoning import percent_back
from bookings.services.after import let_cancelled, let_confirmed
from bookings.services.claims import refuse_closed_days

BATCH = 200


class LetOver(Refusal):
    """The let was cancelled, or its hold ran out."""

    code = "let-over"
    title = say("This let is over")


def policy_of(fishery: Fishery) -> LettingPolicy:
    """The fishery's letting policy, or the defaults, unsaved."""
    return LettingPolicy.objects.filter(fishery=fishery).first() or LettingPolicy(fishery=fishery)


def hold_until(fishery: Fishery, now: dt.datetime) -> dt.datetime:
    return now + dt.timedelta(minutes=policy_of(fishery).hold_minutes)


def refuse_over(let: Let, now: dt.datetime) -> None:
    """Refuse to act on a let that is over, or whose hold has run out though nobody swept it yet."""
    if let.status == Let.Status.CANCELLED:
        raise LetOver(say("This let was cancelled. Make a new one."))
    if let.status == Let.Status.HELD and let.expires_at <= now:
        ran_out = words.instant(let.expires_at.astimezone(zone_of(let.beat.fishery)))
        raise LetOver(say("This hold ran out at {ran_out}. Look what is free and ask anew.", ran_out=ran_out))


@transaction.atomic
def confirm_let(let: Let, *, by: User, now: dt.datetime) -> Let:
    """Confirm a hold. The second of two hands finds it confirmed and changes nothing.

    The owner may, and so may the booker to whom the week was offered. Raises LetOver, DayClosed, NotYours.
    """
    _require_owner_or_offered(let, by)
    held = Let.objects.filter(pk=let.pk, status=Let.Status.HELD, expires_at__gt=now)
    confirmed = held.update(
        status=Let.Status.CONFIRMED, confirmed_at=now, expires_at=None, version=F("version") + 1
    )
    let = _as_it_is(let)
    if confirmed:
        refuse_closed_days(let.beat, _days_to_come(let, now))
        Waiting.objects.filter(offers__let=let, left_at=None).update(left_at=now)
        record("confirm let", let, by=by, now=now, fishery=let.beat.fishery)
        let_confirmed(let, by=by, now=now)
    else:
        refuse_over(let, now)
    return let


@transaction.atomic
def cancel_let(let: Let, *, by: User, now: dt.datetime, version: int | None = None) -> Let:
    """Cancel and free its rod-days from today on; a let cancelled before stays as it was.

    Days already past stay in the book: they were this party's, and they count as effort. A let that
    was confirmed keeps the percent that goes back, by the notice given. The owner may, and so may the booker. With
    `version` only a let that is still at it: a press of "decline" does not cancel a week accepted meanwhile.
    Raises Stale, NotYours.
    """
    _require_owner_or_booker(let, by)
    let = locked(Let.objects.select_related("beat__fishery", "booker"), pk=let.pk)
    if let.status == Let.Status.CANCELLED:
        return let
    _require_owner_or_booker(let, by)  # it may have been handed on since the first look
    if version is not None and let.version != version:
        raise Stale(say("Somebody changed this let since you read it. Read it again, then cancel it."))
    today = local_day(let.beat.fishery, now)
    percent = goes_back(let, today) if let.status == Let.Status.CONFIRMED else None
    freed = _end(let, ending=Let.Ending.ASKED, from_on=today, now=now, refund_percent=percent)
    record("cancel let", let, by=by, now=now, fishery=let.beat.fishery, before={"rod_days": freed})
    let_cancelled(let, freed=freed, by=by, now=now)
    return let


def release_lapsed(now: dt.datetime, *, beat: Beat | None = None) -> int:
    """End every hold that has run out, each whole in a transaction of its own. Returns how many.

    May run anywhere and as often as it likes: a hold that another hand is busy with is left to it.
    """
    due = Let.objects.filter(status=Let.Status.HELD, expires_at__lte=now)
    if beat is not None:
        due = due.filter(beat=beat)
    keys = due.order_by("expires_at").values_list("pk", flat=True)[:BATCH]
    return sum(_run_out(pk, now) for pk in list(keys))


@transaction.atomic
def _run_out(pk: int, now: dt.datetime) -> bool:
    held = Let.objects.select_related("beat__fishery", "booker")
    let = locked_unless_busy(held, pk=pk, status=Let.Status.HELD, expires_at__lte=now)
    if let is None:
        return False
    freed = _end(let, ending=Let.Ending.RAN_OUT, from_on=dt.date.min, now=now)
    record("hold ran out", let, by=None, now=now, fishery=let.beat.fishery, before={"rod_days": freed})
    return True


def _end(let: Let, *, ending: str, from_on: dt.date, now: dt.datetime, **facts: Any) -> int:
    """Free the rod-days from a day on and close the last door, for a row that is held."""
    freed, _ = let.rod_days.filter(day__gte=from_on).delete()
    facts |= {"status": Let.Status.CANCELLED, "cancelled_at": now, "ending": ending, "expires_at": None}
    for name, value in facts.items():
        setattr(let, name, value)
    let.version += 1
    let.save(update_fields=[*facts, "version"])
    return freed


def goes_back(let: Let, today: dt.date) -> int:
    """Of the price of the days given back, by the notice given of the first of them."""
    first = let.rod_days.filter(day__gte=today).aggregate(first=Min("day"))["first"]
    return percent_back(let.beat.fishery, first_on=first or let.first_on, today=today)


def _require_owner_or_offered(let: Let, by: User) -> None:
    """The owner, or the booker of a week that was offered and is still held."""
    try:
        require_role(by, let.beat.fishery, Role.OWNER)
    except NotYours:
        mine = let.booker.user_id == by.pk and let.status == Let.Status.HELD
        if not (mine and Offer.objects.filter(let=let).exists()):
            raise


def _days_to_come(let: Let, now: dt.datetime) -> list[dt.date]:
    to_come = let.rod_days.filter(day__gte=local_day(let.beat.fishery, now))
    return list(to_come.values_list("day", flat=True))


def _require_owner_or_booker(let: Let, by: User) -> None:
    if let.booker.user_id != by.pk:
        require_role(by, let.beat.fishery, Role.OWNER)


def _as_it_is(let: Let) -> Let:
    return Let.objects.select_related("beat__fishery", "booker").get(pk=let.pk)
