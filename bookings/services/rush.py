"""Letting to a crowd: on an opening morning most who ask come too late, and one question tells them."""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from typing import Any

from django.db import connection
from django.shortcuts import get_object_or_404

from beats.models import Beat, User
from beats.queries import beats_visible_to
from beats.shared.once import Once
from bookings.models import Let
from bookings.queries import guests_visible_to
from bookings.season_weeks import days_of_let
from bookings.services.claims import Taken, refuse_full
from bookings.services.lets import LONGEST_LET, let_rods

# Written by hand: nothing else is asked about those who are too late. A hold that ran out may be
# released, so a day with one is left to the full answer.
ROOM = """SELECT beat.name, beat.rods, claim.day, claim.rod
FROM beats_membership part
JOIN beats_beat beat ON beat.fishery_id = part.fishery_id
JOIN bookings_rodday claim ON claim.beat_id = beat.id AND claim.day BETWEEN %s AND %s
WHERE part.user_id = %s AND part.role = 'owner' AND beat.id = %s AND NOT EXISTS (
    SELECT 1 FROM bookings_rodday other JOIN bookings_let let ON let.id = other.let_id
    WHERE other.beat_id = beat.id AND other.day BETWEEN %s AND %s
        AND let.status = 'held' AND let.expires_at <= %s)"""


def let_asked(
    *, beat: int, booker: int, guests: Sequence[int], by: User, now: dt.datetime, once: Once | None, **facts: Any
) -> tuple[Let, bool]:
    """As `let_rods`, of a beat and to guests known by their keys. Raises as it does, and Http404."""
    if once is None:
        _refuse_late(beat, by=by, now=now, **facts)
    water = get_object_or_404(beats_visible_to(by), pk=beat)
    book = guests_visible_to(by).filter(fishery=water.fishery)
    people = [get_object_or_404(book, pk=pk) for pk in (booker, *guests)]
    return let_rods(water, booker=people[0], guests=people[1:], **facts, by=by, now=now, once=once)


def _refuse_late(
    key: int,
    *,
    first_on: dt.date,
    last_on: dt.date,
    rods: int,
    kind: str = Let.Kind.DAY,
    by: User,
    now: dt.datetime,
    **_rest: Any,
) -> None:
    """Tell an owner that the days are full, if that is certain and all there is to say. Raises RodsTaken."""
    if kind != Let.Kind.DAY or not dt.timedelta(0) <= last_on - first_on < LONGEST_LET:
        return
    name, on_beat, taken = _room(key, first_on, last_on, by, now)
    if taken and rods <= on_beat:
        stub = Beat(pk=key, name=name, rods=on_beat)
        refuse_full(stub, days_of_let(first_on, last_on, None), taken=taken, wanted=rods)


def _room(key: int, first_on: dt.date, last_on: dt.date, by: User, now: dt.datetime) -> tuple[str, int, Taken]:
    """The beat's name, its rods, and which are taken by day; nothing taken where that is not certain."""
    ops = connection.ops
    span = [ops.adapt_datefield_value(first_on), ops.adapt_datefield_value(last_on)]
    with connection.cursor() as cursor:
        cursor.execute(ROOM, [*span, by.pk, key, *span, ops.adapt_datetimefield_value(now)])
        rows = cursor.fetchall()
    taken: Taken = defaultdict(set)
    for _, _, day, rod in rows:
        taken[day].add(rod)
    return (*rows[0][:2], taken) if rows else ("", 0, taken)
