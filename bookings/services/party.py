"""Who fishes which rod of a let, rod-day by rod-day, named whenever it is known."""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.db import transaction

from beats.audit import record
from beats.models import Membership, User
from beats.queries import Role, local_day, require_role, role_in
from beats.shared import words
from beats.shared.phrases import say
from beats.shared.refusals import NotYours, Stale
from beats.shared.rows import locked
from bookings.models import Guest, Let, RodDay
from bookings.queries import guests_nameable_by
from bookings.services.after import let_changed
from bookings.services.claims import BadLet, GuestTaken, hold_still
from bookings.services.holds import refuse_over


@dataclass(frozen=True)
class Place:
    """One rod of a let on one day, and who fishes it; None leaves it open."""

    day: dt.date
    rod: int
    guest: Guest | None


@transaction.atomic
def name_party(let: Let, *, places: Sequence[Place], version: int, by: User, now: dt.datetime) -> Let:
    """Name guests on some rod-days of a let still at `version`; rod-days not mentioned stay.

    All names at once, so that two guests may change places. Keepers may; the booker may too, from today on and of
    those `queries.guests_nameable_by` gives. Raises BadLet, GuestTaken, Stale, LetOver, NotYours.
    """
    let = locked(Let.objects.select_related("beat__fishery", "booker"), pk=let.pk)
    if let.booker.user_id != by.pk:
        require_role(by, let.beat.fishery, Role.OWNER, Role.GHILLIE)
    elif role_in(by, let.beat.fishery) not in Membership.KEEPERS:
        _refuse_beyond_the_bookers(let, places, by, now)
    if let.version != version:
        raise Stale(say("Somebody changed this let since you read it. Read it again, then name the party."))
    refuse_over(let, now)
    rows = _rows(let, places)
    guests = [place.guest for place in places if place.guest]
    hold_still(guests)
    RodDay.objects.filter(pk__in=[row.pk for row in rows]).update(guest=None)
    refuse_names_twice([place.day for place in places], guests, besides=[row.pk for row in rows], places=places)
    for row, place in zip(rows, places, strict=True):
        row.guest = place.guest
    RodDay.objects.bulk_update(rows, ["guest"])
    let.version += 1
    let.save(update_fields=["version"])
    record("name party", let, by=by, now=now, fishery=let.beat.fishery, after={"rod_days": len(rows)})
    let_changed(let, by=by, now=now, only_names=True)
    return let


def _refuse_beyond_the_bookers(let: Let, places: Sequence[Place], by: User, now: dt.datetime) -> None:
    """A booker names neither days that are past nor people who have never fished with them."""
    today = local_day(let.beat.fishery, now)
    if any(place.day < today for place in places):
        raise BadLet(
            say("Days already past stay as they are. Ask the fishery if a name there is wrong."),
            errors={"places": [say("Already past.")]},
        )
    known = set(guests_nameable_by(by, let).values_list("pk", flat=True))
    if any(place.guest and place.guest.pk not in known for place in places):
        raise NotYours(say("You can name yourself and guests of your own lets. Ask the fishery to name others."))


def _rows(let: Let, places: Sequence[Place]) -> list[RodDay]:
    book = {(row.day, row.rod): row for row in let.rod_days.all()}
    seats = [(place.day, place.rod) for place in places]
    if len(set(seats)) < len(seats):
        raise BadLet(
            say("A rod is named twice on one day. Name it once."), errors={"places": [say("The same rod twice.")]}
        )
    if unknown := [seat for seat in seats if seat not in book]:
        day, rod = unknown[0]
        raise BadLet(
            say(
                "This let has no rod {rod} on {words_day}. Read its rod-days and name those.",
                rod=rod,
                words_day=words.day(day),
            ),
            errors={"places": [f"{day}, rod {rod}: not in this let." for day, rod in unknown]},
        )
    named = [(place.day, place.guest.pk) for place in places if place.guest]
    if len(set(named)) < len(named):
        raise GuestTaken(say("A guest is named on two rods of one day. One rod a guest a day."))
    return [book[seat] for seat in seats]


def give_names(pairs: Iterable[tuple[RodDay, RodDay]]) -> None:
    """Each new rod-day takes guest and sharer of an old one. Guests are held still already."""
    rows = []
    for new, old in pairs:
        new.guest, new.sharer = old.guest, old.sharer
        rows.append(new)
    guests = {row.guest.pk: row.guest for row in rows}
    refuse_names_twice([row.day for row in rows], list(guests.values()), besides=[row.pk for row in rows])
    RodDay.objects.bulk_update(rows, ["guest", "sharer"])


def refuse_names_twice(
    days: Sequence[dt.date], guests: Sequence[Guest], *, besides: Sequence[int], places: Sequence[Place] = ()
) -> None:
    """Refuse guests who fish another rod on one of the days. With `places`, only on their own days."""
    if not guests:
        return
    busy = RodDay.objects.filter(guest__in=guests, day__in=set(days)).exclude(pk__in=besides)
    asked = {(place.guest.pk, place.day) for place in places if place.guest}
    for row in busy.select_related("guest", "beat").order_by("day"):
        if not places or (row.guest_id, row.day) in asked:
            raise GuestTaken(
                say(
                    "{guest_name} already fishes {beat_name} on {words_weekday}.",
                    guest_name=row.guest.name,
                    beat_name=row.beat.name,
                    words_weekday=words.weekday(row.day),
                )
            )
