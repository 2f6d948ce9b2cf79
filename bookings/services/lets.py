"""Letting rods: what is asked is judged first, then claimed as one, then written down."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db import transaction

from beats.audit import record
from beats.models import Beat, User
from beats.queries import Role, local_day, require_role
from beats.shared.once import Once, made_earlier, make_once
from beats.shared.phrases import say
from beats.shared.rows import locked
from bookings.models import Guest, Let
from bookings.numbering import full_days
from bookings.openings import closed_days
from bookings.season_weeks import days_of_let, days_of_week
from bookings.services.after import let_changed, let_confirmed
from bookings.services.claims import (
    BadLet,
    DayClosed,
    GuestTaken,
    RodsTaken,
    Taken,
    claim,
    hold_still,
    look,
    refuse_busy,
    refuse_closed_days,
    refuse_full,
    taken_numbers,
)
from bookings.services.holds import cancel_let, confirm_let, hold_until, release_lapsed

__all__ = [
    "BadLet", "DayClosed", "GuestTaken", "RodsTaken", "Shape",
    "cancel_let", "confirm_let", "let_rods", "share_rod",
]  # fmt: skip

LONGEST_LET = dt.timedelta(days=31)
LONGEST_SEASON = dt.timedelta(days=366)
SUNDAY = 6


@dataclass(frozen=True)
class Shape:
    """What a let takes of a beat: which days, how many rods, and how the days hang together."""

    beat: Beat
    first_on: dt.date
    last_on: dt.date
    rods: int
    kind: str = Let.Kind.DAY
    weekday: int | None = None

    @property
    def days(self) -> list[dt.date]:
        return days_of_let(self.first_on, self.last_on, self.weekday)

    def columns(self) -> dict[str, Any]:
        names = ("beat", "first_on", "last_on", "rods", "kind", "weekday")
        return {name: getattr(self, name) for name in names}


def let_rods(
    beat: Beat,
    *,
    booker: Guest,
    first_on: dt.date,
    last_on: dt.date,
    rods: int,
    guests: Sequence[Guest] = (),
    company: str = Let.Company.EITHER,
    kind: str = Let.Kind.DAY,
    weekday: int | None = None,
    hold: bool = False,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[Let, bool]:
    """Let `rods` rods from `first_on` to `last_on`, both fished. Returns (let, new?).

    `guests` are who fishes the rods, in order; rods without a name can be named later. With
    `weekday` (Monday is 0) and kind "season" only that day of each week. `hold` keeps the rods, by
    the fishery's policy, until somebody confirms. All days or none. Raises BadLet, DayClosed (with
    the reason for each day), RodsTaken (naming the days), GuestTaken, NotYours, KeyReused.
    """
    require_role(by, beat.fishery, Role.OWNER)
    if earlier := made_earlier(Let, by=by, once=once):
        return earlier, False
    shape = Shape(beat, first_on, last_on, rods, kind, weekday)
    refuse_nonsense(shape, guests)
    try:
        seen = _look(shape, now)
    except RodsTaken:  # perhaps by this very request, on another connection
        if earlier := made_earlier(Let, by=by, once=once):
            return earlier, False
        raise
    refuse_closed_days(beat, shape.days)
    refuse_part_of_week(shape)
    expires_at = hold_until(beat.fishery, now) if hold else None
    asked = {"booker": booker, "guests": guests, "company": company, "expires_at": expires_at}
    return take(shape, **asked, seen=seen, by=by, now=now, once=once)


def take(
    shape: Shape,
    *,
    booker: Guest,
    guests: Sequence[Guest] = (),
    company: str = Let.Company.EITHER,
    expires_at: dt.datetime | None,
    by: User | None,
    now: dt.datetime,
    once: Once | None = None,
    seen: Taken | None = None,
) -> tuple[Let, bool]:
    """Claim what was already judged. With `expires_at` it is a hold; without, it is confirmed.

    `seen` is what was just seen to be taken. Raises RodsTaken, GuestTaken, DayClosed, KeyReused.
    """

    def make(columns: dict[str, Any]) -> Let:
        hold_still(guests)
        let = Let.objects.create(
            **shape.columns(),
            booker=booker,
            company=company,
            made_at=now,
            status=Let.Status.HELD if expires_at else Let.Status.CONFIRMED,
            expires_at=expires_at,
            confirmed_at=None if expires_at else now,
            **columns,
        )
        claim(let, dict.fromkeys(shape.days, shape.rods), guests, seen=seen)
        _note(let, by=by, now=now)
        if let.status == Let.Status.CONFIRMED:
            let_confirmed(let, by=by, now=now)
        return let

    return make_once(Let, by=by, once=once, make=make)


def _look(shape: Shape, now: dt.datetime) -> Taken:
    """What is taken, once lapsed holds in the way are gone, each in its own transaction before ours begins.

    Losers are told here, before anything is written.
    """
    days, beat = shape.days, shape.beat
    taken, lapsed = look(beat, days, now)
    if full_days(days, taken=taken, on_beat=beat.rods, wanted=shape.rods):
        if lapsed and release_lapsed(now, beat=beat):
            taken = taken_numbers(beat, days)
        refuse_full(beat, days, taken=taken, wanted=shape.rods)
    return taken


def _note(let: Let, *, by: User | None, now: dt.datetime) -> None:
    facts: dict[str, Any] = {
        "beat": let.beat.slug,
        "first_on": let.first_on,
        "last_on": let.last_on,
        "rods": let.rods,
        "booker": let.booker_id,
    }
    if let.kind != Let.Kind.DAY:
        facts["kind"] = let.kind
    verb = "hold rods" if let.status == Let.Status.HELD else "let rods"
    record(verb, let, by=by, now=now, fishery=let.beat.fishery, after=facts)


@transaction.atomic
def share_rod(let: Let, *, rod: int, guest: Guest, by: User, now: dt.datetime) -> Let:
    """Let a second guest share one rod of a let, on all its days: one fishes while the other watches.

    Raises BadLet, DayClosed, GuestTaken.
    """
    require_role(by, let.beat.fishery, Role.OWNER)
    let = locked(Let.objects.select_related("beat__fishery", "booker"), pk=let.pk)
    claims = let.rod_days.filter(rod=rod)
    days = list(claims.values_list("day", flat=True))
    if not days:
        raise BadLet(say("This let has no rod {rod}.", rod=rod), errors={"rod": [say("No such rod in this let.")]})
    refuse_closed_days(let.beat, [day for day in days if day >= local_day(let.beat.fishery, now)])
    hold_still([guest])
    refuse_busy(days, [guest])
    claims.update(sharer=guest)
    record("share rod", let, by=by, now=now, fishery=let.beat.fishery, after={"rod": rod, "guest": guest.pk})
    let_changed(let, by=by, now=now, only_names=True)
    return let


def refuse_nonsense(shape: Shape, guests: Sequence[Guest] = ()) -> None:
    """Refuse what no calendar and no book need be asked about. Raises BadLet."""
    _refuse_span(shape)
    beat, rods = shape.beat, shape.rods
    if rods > beat.rods:
        raise BadLet(
            say("{beat_name} has {beat_rods} rods.", beat_name=beat.name, beat_rods=beat.rods),
            errors={"rods": [say("At most {beat_rods}.", beat_rods=beat.rods)]},
        )
    if shape.kind == Let.Kind.WHOLE_BEAT and rods != beat.rods:
        raise BadLet(
            say(
                "The whole of {beat_name} is {beat_rods} rods. Ask for {beat_rods}, or for days.",
                beat_name=beat.name,
                beat_rods=beat.rods,
            ),
            errors={"rods": [say("{beat_rods} for the whole beat.", beat_rods=beat.rods)]},
        )
    if len(guests) > rods or len({guest.pk for guest in guests}) < len(guests):
        raise BadLet(
            say("Name each guest once, and no more guests than rods."), errors={"guests": [say("Too many.")]}
        )


def _refuse_span(shape: Shape) -> None:
    if shape.last_on < shape.first_on:
        raise BadLet(
            say("The last day is before the first. Swap them."), errors={"last_on": [say("Before first_on.")]}
        )
    season = shape.kind == Let.Kind.SEASON
    if season != (shape.weekday is not None):
        text = "Say which weekday, Monday is 0." if season else "Only season rods have a weekday."
        raise BadLet(text, errors={"weekday": [text]})
    if shape.weekday == SUNDAY:
        raise BadLet(
            say("Sunday is not sold. Choose another weekday."), errors={"weekday": [say("Not a Sunday.")]}
        )
    if shape.last_on - shape.first_on >= (LONGEST_SEASON if season else LONGEST_LET):
        longest = "a year" if season else "31 days"
        raise BadLet(
            say("One let runs {longest} at most. Make several.", longest=longest),
            errors={"last_on": [say("Too far.")]},
        )
    if not shape.days:
        text = "That weekday does not fall between these dates."
        raise BadLet(text, errors={"weekday": [text]})


def refuse_part_of_week(shape: Shape) -> None:
    """A week let takes every day of one week that may be let. Raises BadLet."""
    if shape.kind != Let.Kind.WEEK:
        return
    week = days_of_week(shape.first_on)
    closed = closed_days(shape.beat.fishery, week)
    days = [day for day in week if day not in closed]
    if shape.days != days:
        raise BadLet(
            say(
                "A week is Monday to Saturday as far as the season allows: {days} to {days_2}. Ask "
                "for that, or for days.",
                days=days[0],
                days_2=days[-1],
            ),
            errors={
                "first_on": [say("{days} for this week.", days=days[0])],
                "last_on": [say("{days} for this week.", days=days[-1])],
            },
        )
