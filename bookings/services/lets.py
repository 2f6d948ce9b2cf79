"""Letting rods: a let claims rod-days, and the unique row decides who was first."""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Count, Min

from beats.audit import record
from beats.models import Beat, User
from beats.queries import Role, local_day, require_role, rulings
from beats.season import Status
from beats.shared import words
from beats.shared.once import Once, made_earlier, make_once
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from bookings.models import Guest, Let, RodDay
from bookings.numbering import choose, full_days
from bookings.services.after import let_cancelled, let_changed, let_confirmed

LONGEST_LET = dt.timedelta(days=31)
TRIES = 12


class BadLet(Refusal):
    """The let as asked makes no sense."""

    code = "bad-let"
    title = "This let makes no sense"
    status = 400


class DayClosed(Refusal):
    """Law or house rule closes one of the days."""

    code = "day-closed"
    title = "Closed on that day"


class RodsTaken(Refusal):
    """Not enough rods are free."""

    code = "rods-taken"
    title = "No rod left"


class GuestTaken(Refusal):
    """A named guest already fishes another rod that day."""

    code = "guest-taken"
    title = "Already fishing that day"


def let_rods(
    beat: Beat,
    *,
    booker: Guest,
    first_on: dt.date,
    last_on: dt.date,
    rods: int,
    guests: Sequence[Guest] = (),
    company: str = Let.Company.EITHER,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[Let, bool]:
    """Let `rods` rods from `first_on` to `last_on`, both fished. Returns (let, new?).

    `guests` are who fishes the rods, in order; rods without a name can be named later. All days or
    none. Raises BadLet, DayClosed (with the reason for each day), RodsTaken (naming the days),
    GuestTaken, NotYours, KeyReused.
    """
    require_role(by, beat.fishery, Role.OWNER)
    if earlier := made_earlier(Let, by=by, once=once):
        return earlier, False
    days = _days(beat, first_on, last_on, rods, guests)
    _refuse_closed(beat, days)

    def make(columns: dict[str, Any]) -> Let:
        let = Let.objects.create(
            beat=beat,
            booker=booker,
            first_on=first_on,
            last_on=last_on,
            rods=rods,
            company=company,
            made_at=now,
            **columns,
        )
        _claim(let, days, guests)
        facts = {
            "beat": beat.slug,
            "first_on": first_on,
            "last_on": last_on,
            "rods": rods,
            "booker": booker.pk,
        }
        record("let rods", let, by=by, now=now, fishery=beat.fishery, after=facts)
        let_confirmed(let, by=by, now=now)
        return let

    return make_once(Let, by=by, once=once, make=make)


@transaction.atomic
def share_rod(let: Let, *, rod: int, guest: Guest, by: User, now: dt.datetime) -> Let:
    """Let a second guest share one rod of a let, on all its days: one fishes while the other watches.

    Raises BadLet, GuestTaken.
    """
    require_role(by, let.beat.fishery, Role.OWNER)
    let = locked(Let.objects.select_related("beat__fishery", "booker"), pk=let.pk)
    claims = let.rod_days.filter(rod=rod)
    days = list(claims.values_list("day", flat=True))
    if not days:
        raise BadLet(f"This let has no rod {rod}.", errors={"rod": ["No such rod in this let."]})
    _refuse_busy_guest(days, [guest])
    claims.update(sharer=guest)
    record("share rod", let, by=by, now=now, fishery=let.beat.fishery, after={"rod": rod, "guest": guest.pk})
    let_changed(let, by=by, now=now)
    return let


@transaction.atomic
def cancel_let(let: Let, *, by: User, now: dt.datetime) -> Let:
    """Cancel and free its rod-days from today on; a let cancelled before stays as it was.

    Days already past stay in the book: they were this party's, and they count as effort.
    """
    require_role(by, let.beat.fishery, Role.OWNER)
    let = locked(Let.objects.select_related("beat__fishery", "booker"), pk=let.pk)
    if let.status == Let.Status.CANCELLED:
        return let
    coming = let.rod_days.filter(day__gte=local_day(let.beat.fishery, now))
    told = coming.aggregate(count=Count("id"), first=Min("day"))
    coming.delete()
    let.status, let.cancelled_at = Let.Status.CANCELLED, now
    let.save(update_fields=["status", "cancelled_at"])
    record("cancel let", let, by=by, now=now, fishery=let.beat.fishery, before={"rod_days": told["count"]})
    first = told["first"] or let.last_on
    let_cancelled(let, freed=told["count"], first_freed_on=first, by=by, now=now)
    return let


def _days(beat: Beat, first_on: dt.date, last_on: dt.date, rods: int, guests: Sequence[Guest]) -> list[dt.date]:
    if last_on < first_on:
        raise BadLet("The last day is before the first. Swap them.", errors={"last_on": ["Before first_on."]})
    if last_on - first_on >= LONGEST_LET:
        raise BadLet("One let runs 31 days at most. Make several.", errors={"last_on": ["Too far."]})
    if rods > beat.rods:
        raise BadLet(f"{beat.name} has {beat.rods} rods.", errors={"rods": [f"At most {beat.rods}."]})
    if len(guests) > rods or len({guest.pk for guest in guests}) < len(guests):
        raise BadLet("Name each guest once, and no more guests than rods.", errors={"guests": ["Too many."]})
    return [first_on + dt.timedelta(days=n) for n in range((last_on - first_on).days + 1)]


def _refuse_closed(beat: Beat, days: list[dt.date]) -> None:
    closed = [ruling for ruling in rulings(beat.fishery, days) if ruling.status is Status.CLOSED]
    if closed:
        more = f" ({len(closed)} closed days in all.)" if len(closed) > 1 else ""
        raise DayClosed(
            f"{closed[0].sentence}{more} Leave closed days out and ask again.",
            errors={str(ruling.day): [ruling.reasons[0].text] for ruling in closed},
        )


def _claim(let: Let, days: list[dt.date], guests: Sequence[Guest]) -> None:
    """Insert the claims, days in order; when another let takes a number meanwhile, look and try again."""
    for _ in range(TRIES):
        taken: dict[dt.date, set[int]] = defaultdict(set)
        for day, rod in RodDay.objects.filter(beat=let.beat, day__in=days).values_list("day", "rod"):
            taken[day].add(rod)
        asked = {"taken": taken, "on_beat": let.beat.rods, "wanted": let.rods}
        chosen = choose(days, **asked)
        if chosen is None:
            _refuse_full(let.beat, full_days(days, **asked))
        try:
            with transaction.atomic():
                RodDay.objects.bulk_create(_rows(let, chosen, guests))
        except IntegrityError:
            _refuse_busy_guest(days, guests)
        else:
            return
    raise RodsTaken("Many people are asking for these days at once. Nothing was booked. Try again now.")


def _rows(let: Let, chosen: dict[dt.date, list[int]], guests: Sequence[Guest]) -> list[RodDay]:
    names = [*guests, *[None] * let.rods]
    return [
        RodDay(beat=let.beat, day=day, rod=rod, let=let, guest=guest)
        for day, numbers in sorted(chosen.items())
        for rod, guest in sorted(zip(numbers, names, strict=False), key=lambda pair: pair[0])
    ]


def _refuse_full(beat: Beat, full: list[tuple[dt.date, int]]) -> None:
    told = "; ".join(f"{words.weekday(day)}: {left or 'none'} left" for day, left in full)
    raise RodsTaken(
        f"{beat.name} has too few rods free. {told}. Choose other days or fewer rods.",
        errors={str(day): [f"{left} of {beat.rods} rods free."] for day, left in full},
    )


def _refuse_busy_guest(days: list[dt.date], guests: Sequence[Guest]) -> None:
    """Tell a clash of persons, which no other rod number can mend, from a clash of numbers."""
    busy = RodDay.objects.filter(guest__in=guests, day__in=days).select_related("guest", "beat").order_by("day")
    if clash := busy.first():
        raise GuestTaken(f"{clash.guest.name} already fishes {clash.beat.name} on {words.weekday(clash.day)}.")
