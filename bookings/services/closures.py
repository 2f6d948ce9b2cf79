"""Closing a beat for work, and opening it again."""

import datetime as dt

from django.db import transaction

from beats.audit import record
from beats.models import Beat, User
from beats.queries import Role, require_role
from beats.shared import words
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import quiet
from bookings.models import BeatClosure, RodDay
from bookings.services.holds import release_lapsed


class DaysLet(Refusal):
    """Rods are let on days that should be closed."""

    code = "days-let"
    title = say("Let already")


def close_beat(
    beat: Beat, *, from_on: dt.date, to_on: dt.date, reason: str, by: User, now: dt.datetime
) -> tuple[BeatClosure, bool]:
    """Close a beat for days both included; nobody can be let a rod there then. Returns (closure, new?).

    Nobody claims while this looks: a let that is being made waits and then finds the closure, or was
    first and is found here. The same days again change nothing. Raises DaysLet, NotYours.
    """
    require_role(by, beat.fishery, Role.OWNER)
    release_lapsed(now, beat=beat)
    return _close(beat, from_on=from_on, to_on=to_on, reason=reason, by=by, now=now)


@transaction.atomic
def _close(
    beat: Beat, *, from_on: dt.date, to_on: dt.date, reason: str, by: User, now: dt.datetime
) -> tuple[BeatClosure, bool]:
    quiet(RodDay)
    if let := RodDay.objects.filter(beat=beat, day__range=(from_on, to_on)).order_by("day").first():
        raise DaysLet(
            say(
                "Rods of {beat_name} are let on {words_weekday} {day_year} (let {let_let_id}). Move "
                "or cancel what is let on these days first.",
                beat_name=beat.name,
                words_weekday=words.weekday(let.day),
                day_year=let.day.year,
                let_let_id=let.let_id,
            )
        )
    closure, made = BeatClosure.objects.get_or_create(
        beat=beat, from_on=from_on, to_on=to_on, defaults={"reason": reason}
    )
    if made:
        facts = {"beat": beat.slug, "from_on": from_on, "to_on": to_on, "reason": reason}
        record("close beat", closure, by=by, now=now, fishery=beat.fishery, after=facts)
    return closure, made


@transaction.atomic
def reopen_beat(closure: BeatClosure, *, by: User, now: dt.datetime) -> None:
    """Take a closure away."""
    fishery = closure.beat.fishery
    require_role(by, fishery, Role.OWNER)
    record("reopen beat", closure, by=by, now=now, fishery=fishery, before={"reason": closure.reason})
    closure.delete()
