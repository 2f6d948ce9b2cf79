"""Claiming rod-days: the unique row decides who was first, and every loser learns which days are gone.

Everybody takes what they wait for in one order, so that nobody waits in a ring: guests who are to be
named, by key; then the let; then rod numbers, by day and number. Nothing is freed before it.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence

from django.db import IntegrityError, connection, transaction

from beats.models import Beat
from beats.shared import words
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked_in_order
from bookings.models import BeatClosure, Guest, Let, RodDay
from bookings.numbering import choose, full_days
from bookings.openings import closed_days

TRIES = 30
Taken = dict[dt.date, set[int]]
NEVER = dt.datetime(1950, 1, 1, tzinfo=dt.UTC)
# Written by hand: everybody in a rush asks it first, most of them only this.
CLAIMED = """SELECT claim.day, claim.rod, CASE WHEN let.status = 'held' AND let.expires_at <= %s THEN 1 ELSE 0 END
FROM bookings_rodday claim JOIN bookings_let let ON let.id = claim.let_id
WHERE claim.beat_id = %s AND claim.day BETWEEN %s AND %s"""


class BadLet(Refusal):
    """The let as asked makes no sense."""

    code = "bad-let"
    title = say("This let makes no sense")
    status = 400


class DayClosed(Refusal):
    """Law, house rule or work on the beat closes one of the days."""

    code = "day-closed"
    title = say("Closed on that day")


class RodsTaken(Refusal):
    """Not enough rods are free."""

    code = "rods-taken"
    title = say("No rod left")


class GuestTaken(Refusal):
    """A named guest already fishes another rod that day."""

    code = "guest-taken"
    title = say("Already fishing that day")


def refuse_closed_days(beat: Beat, days: Iterable[dt.date]) -> None:
    """Refuse days on which nobody may fish the beat: by law, by the fishery's rules, or while the beat is closed.

    The one check of every act by which a let or its booker takes days on. `days` may be empty. Raises DayClosed
    with the reason for each day.
    """
    asked = sorted(set(days))
    if not asked:
        return
    if closed := closed_days(beat.fishery, asked):
        _refuse_days(closed)
    refuse_shut(beat, asked)


def refuse_shut(beat: Beat, days: Sequence[dt.date]) -> None:
    """Refuse days on which the beat itself is closed. Ask again once the claims stand: see `close_beat`."""
    rows = BeatClosure.objects.filter(beat=beat, from_on__lte=days[-1], to_on__gte=days[0])
    spans = list(rows.values_list("from_on", "to_on", "reason"))
    shut = {
        day: f"{beat.name} is closed: {reason}."
        for day in days
        for from_on, to_on, reason in spans
        if from_on <= day <= to_on
    }
    if shut:
        _refuse_days(shut)


def _refuse_days(closed: dict[dt.date, str]) -> None:
    day, reason = next(iter(closed.items()))
    more = f" ({len(closed)} closed days in all.)" if len(closed) > 1 else ""
    raise DayClosed(
        say(
            "{words_weekday} {day_year}: {reason}{more} Leave closed days out and ask again.",
            words_weekday=words.weekday(day),
            day_year=day.year,
            reason=reason,
            more=more,
        ),
        errors={str(day): [reason] for day, reason in closed.items()},
    )


def taken_numbers(beat: Beat, days: Sequence[dt.date]) -> Taken:
    """Which rod numbers are claimed, by day. One query."""
    return look(beat, days)[0]


def look(beat: Beat, days: Sequence[dt.date], now: dt.datetime | None = None) -> tuple[Taken, bool]:
    """Which rod numbers are claimed, by day, and whether some stand for a hold that had run out at `now`."""
    ops = connection.ops
    span = [ops.adapt_datefield_value(days[0]), ops.adapt_datefield_value(days[-1])]
    with connection.cursor() as cursor:
        cursor.execute(CLAIMED, [ops.adapt_datetimefield_value(now or NEVER), beat.pk, *span])
        rows = cursor.fetchall()
    taken: Taken = defaultdict(set)
    for day, rod, _ in rows:
        taken[day].add(rod)
    return taken, any(lapsed for *_, lapsed in rows)


def refuse_full(beat: Beat, days: Sequence[dt.date], *, taken: Taken, wanted: int) -> None:
    """Refuse what cannot be had, naming each day that is in the way."""
    if full := full_days(days, taken=taken, on_beat=beat.rods, wanted=wanted):
        _tell_full(beat, full)


def hold_still(guests: Iterable[Guest]) -> None:
    """Hold the guests who are to be named, so that two parties with the same people cannot cross."""
    keys = {guest.pk for guest in guests}
    if keys:
        locked_in_order(Guest.objects.filter(pk__in=keys).only("pk"))


def claim(
    let: Let, wanted: dict[dt.date, int], guests: Sequence[Guest] = (), *, seen: Taken | None = None
) -> None:
    """Insert so many claims a day for a let, days in order; a number lost meanwhile is looked for again.

    `guests` fish the rods in order; `seen` is what a caller has just seen to be taken. All or none.
    Raises RodsTaken, GuestTaken, DayClosed.
    """
    days = sorted(wanted)
    for attempt in range(TRIES):
        taken = taken_numbers(let.beat, days) if attempt or seen is None else seen
        chosen = _chosen(let, taken, wanted, start=let.pk + attempt if attempt else 0)
        try:
            with transaction.atomic():
                RodDay.objects.bulk_create(_rows(let, chosen, guests))
        except IntegrityError:
            refuse_busy(days, guests)
        else:
            refuse_shut(let.beat, days)
            return
    raise RodsTaken(
        say("Many people are asking for these days at once. Nothing was booked. Try again now."),
        errors={str(day): [say("Somebody was quicker.")] for day in days},
    )


def _chosen(let: Let, taken: Taken, wanted: dict[dt.date, int], *, start: int) -> dict[dt.date, list[int]]:
    """Free numbers for each day. Whoever lost before starts elsewhere, or all would meet again."""
    chosen: dict[dt.date, list[int]] = {}
    for count in sorted(set(wanted.values())):
        days = sorted(day for day in wanted if wanted[day] == count)
        refuse_full(let.beat, days, taken=taken, wanted=count)
        chosen |= choose(days, taken=taken, on_beat=let.beat.rods, wanted=count, start=start) or {}
    return chosen


def _rows(let: Let, chosen: dict[dt.date, list[int]], guests: Sequence[Guest]) -> list[RodDay]:
    most = max(map(len, chosen.values()))
    names = [*guests, *[None] * most]
    return [
        RodDay(beat=let.beat, day=day, rod=rod, let=let, guest=guest)
        for day, numbers in sorted(chosen.items())
        for rod, guest in sorted(zip(numbers, names, strict=False), key=lambda pair: pair[0])
    ]


def _tell_full(beat: Beat, full: list[tuple[dt.date, int]]) -> None:
    told = "; ".join(f"{words.weekday(day)}: {left or 'none'} left" for day, left in full)
    raise RodsTaken(
        say(
            "{beat_name} has too few rods free. {told}. Choose other days or fewer rods.",
            beat_name=beat.name,
            told=told,
        ),
        errors={
            str(day): [say("{left} of {beat_rods} rods free.", left=left, beat_rods=beat.rods)]
            for day, left in full
        },
    )


def refuse_busy(days: Sequence[dt.date], guests: Sequence[Guest]) -> None:
    """Tell a clash of persons, which no other rod number can mend, from a clash of numbers."""
    if not guests:
        return
    busy = RodDay.objects.filter(guest__in=guests, day__in=days).select_related("guest", "beat").order_by("day")
    if clash := busy.first():
        raise GuestTaken(
            say(
                "{guest_name} already fishes {beat_name} on {words_weekday}.",
                guest_name=clash.guest.name,
                beat_name=clash.beat.name,
                words_weekday=words.weekday(clash.day),
            )
        )
