"""Changing a let that stands: other days, rods or beat; another guest; two guests in place of one.

What is new is claimed before anything old is let go, in one transaction: a change that is refused
leaves the let as it was, and nobody can slip in between.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from django.db import transaction

from beats.audit import record
from beats.models import User
from beats.queries import Role, local_day, require_role
from beats.shared import words
from beats.shared.once import Once, made_earlier, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Stale
from beats.shared.rows import locked
from bookings.models import Guest, Let, RodDay
from bookings.services.after import let_changed, let_confirmed
from bookings.services.agreed_prices import divide_prices
from bookings.services.claims import BadLet, claim, hold_still, refuse_closed_days
from bookings.services.holds import refuse_over, release_lapsed
from bookings.services.lets import Shape, refuse_nonsense, refuse_part_of_week
from bookings.services.party import give_names, refuse_names_twice

Book = dict[dt.date, list[RodDay]]


def change_let(let: Let, *, facts: dict[str, Any], version: int, by: User, now: dt.datetime) -> Let:
    """Change beat, days, rods, kind, weekday or company of a let still at `version`; the rest stays.

    Days already fished stay as they were. Names go along, in order. Raises Stale, LetOver, BadLet,
    DayClosed, RodsTaken, GuestTaken, NotYours.
    """
    require_role(by, let.beat.fishery, Role.OWNER)
    release_lapsed(now, beat=facts.get("beat", let.beat))
    with transaction.atomic():
        let = _standing(let, version, now)
        before = _shape_of(let)
        after = replace(before, **{name: value for name, value in facts.items() if name != "company"})
        _judge(let, before, after, now)
        _move(let, before, after)
        let.company = facts.get("company", let.company)
        let.version += 1
        let.save(update_fields=[*after.columns(), "company", "version"])
        told = {name: _told(getattr(before, name)) for name in after.columns()}
        record(
            "change let", let, by=by, now=now, fishery=let.beat.fishery,
            before=told, after={name: _told(value) for name, value in after.columns().items()},
        )  # fmt: skip
        let_changed(let, by=by, now=now, only_names=_rods_of(after) == _rods_of(before))
    return let


@transaction.atomic
def transfer_let(let: Let, *, to: Guest, by: User, now: dt.datetime) -> Let:
    """Hand a let to another guest; rods in the old booker's own name go along, from today on.

    Handing it to who has it already changes nothing. Raises LetOver, DayClosed, GuestTaken, NotYours.
    """
    require_role(by, let.beat.fishery, Role.OWNER)
    let = locked(_lets(), pk=let.pk)
    refuse_over(let, now)
    if let.booker_id == to.pk:
        return let
    to_come = let.rod_days.filter(day__gte=local_day(let.beat.fishery, now))
    refuse_closed_days(let.beat, to_come.values_list("day", flat=True))
    _take_place(to_come, let.booker, to)
    before, let.booker = let.booker_id, to
    let.version += 1
    let.save(update_fields=["booker", "version"])
    record("transfer let", let, by=by, now=now, fishery=let.beat.fishery,
           before={"booker": before}, after={"booker": to.pk})  # fmt: skip
    let_changed(let, by=by, now=now, only_names=True)
    return let


def split_let(
    let: Let,
    *,
    booker: Guest,
    from_on: dt.date | None = None,
    rods: int | None = None,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[Let, bool]:
    """Give part of a let to another guest as a let of its own: its days from `from_on`, or some of its rods.

    No rod-day is freed or claimed on the way. A part of a whole beat counts as days. Returns (the new
    let, new?). Raises BadLet, LetOver, DayClosed, GuestTaken, NotYours, KeyReused.
    """
    require_role(by, let.beat.fishery, Role.OWNER)
    if earlier := made_earlier(Let, by=by, once=once):
        return earlier, False

    def make(columns: dict[str, Any]) -> Let:
        kept = locked(_lets(), pk=let.pk)
        refuse_over(kept, now)
        going = _going(kept, from_on=from_on, rods=rods, today=local_day(kept.beat.fishery, now))
        refuse_closed_days(kept.beat, [row.day for row in going])
        new = _part(kept, booker, now, columns, first_on=going[0].day, rods=rods or kept.rods)
        RodDay.objects.filter(pk__in=[row.pk for row in going]).update(let=new)
        _take_place(new.rod_days.all(), kept.booker, booker)
        _shrink(kept, rods=rods)
        facts = {"new_let": new.pk, "booker": booker.pk, "rod_days": len(going)}
        record("split let", kept, by=by, now=now, fishery=kept.beat.fishery, after=facts)
        if kept.confirmed_at is not None:
            divide_prices(kept, new, by=by, now=now)
        let_changed(kept, by=by, now=now, only_names=True)
        if new.status == Let.Status.CONFIRMED:
            let_confirmed(new, by=by, now=now, priced=True)
        return new

    return make_once(Let, by=by, once=once, make=make)


def _lets():
    return Let.objects.select_related("beat__fishery", "booker")


def _standing(let: Let, version: int, now: dt.datetime) -> Let:
    let = locked(_lets(), pk=let.pk)
    if let.version != version:
        raise Stale(say("Somebody changed this let since you read it. Read it again, then make your change."))
    refuse_over(let, now)
    return let


def _shape_of(let: Let) -> Shape:
    return Shape(let.beat, let.first_on, let.last_on, let.rods, let.kind, let.weekday)


def _rods_of(shape: Shape) -> tuple:
    """What the price depends on: a change of anything else leaves the money alone."""
    return shape.beat.pk, shape.days, shape.rods


def _told(value: Any) -> Any:
    return getattr(value, "slug", value)


def _judge(let: Let, before: Shape, after: Shape, now: dt.datetime) -> None:
    if after.beat.fishery_id != before.beat.fishery_id:
        raise BadLet(
            say("That beat is another fishery's. Choose one of this fishery."), errors={"beat": [say("Not here.")]}
        )
    refuse_nonsense(after)
    _refuse_past(before, after, local_day(let.beat.fishery, now))
    refuse_closed_days(after.beat, _days_taken_on(before, after))
    if (after.first_on, after.last_on, after.kind) != (before.first_on, before.last_on, before.kind):
        refuse_part_of_week(after)


def _days_taken_on(before: Shape, after: Shape) -> list[dt.date]:
    """Days on which the let gets rods that it did not have. Days closed since they were let may stay in it."""
    if after.beat != before.beat or after.rods > before.rods:
        return after.days
    had = set(before.days)
    return [day for day in after.days if day not in had]


def _refuse_past(before: Shape, after: Shape, today: dt.date) -> None:
    """Days already fished are history: neither they nor their rods change, and none is added to them."""
    fished = [day for day in before.days if day < today]
    if fished != [day for day in after.days if day < today]:
        raise BadLet(
            say(
                "Days before {words_day} stay as they are. Change the days from then on.",
                words_day=words.day(today),
            ),
            errors={"first_on": [say("Already fished, or past.")]},
        )
    if fished and (after.beat, after.rods) != (before.beat, before.rods):
        raise BadLet(
            say("Some of these days are fished already. Split the let at today, then change the new one."),
            errors={"beat": [say("Some days are fished already.")]},
        )


def _move(let: Let, before: Shape, after: Shape) -> None:
    """Claim, then free, then name."""
    old: Book = defaultdict(list)
    for row in let.rod_days.select_related("guest", "sharer").order_by("day", "rod"):
        old[row.day].append(row)
    stays = set() if after.beat != before.beat else set(after.days) & set(old)
    kept = {day: _best(old[day], after.rods) for day in stays}
    wanted = {day: after.rods - len(kept.get(day, ())) for day in after.days}
    for name, value in after.columns().items():
        setattr(let, name, value)
    fresh = _claimed(let, {day: count for day, count in wanted.items() if count})
    keeping = {row.pk for rows in kept.values() for row in rows}
    let.rod_days.exclude(pk__in=keeping | {row.pk for row in fresh}).delete()
    give_names(_names_for(fresh, old, kept))


def _claimed(let: Let, wanted: dict[dt.date, int]) -> list[RodDay]:
    """The new rod-days of a let, not named yet: a guest may stand on the old ones until they go."""
    if not wanted:
        return []
    had = set(let.rod_days.values_list("pk", flat=True))
    hold_still(_named(let))
    claim(let, wanted)
    return [row for row in let.rod_days.order_by("day", "rod") if row.pk not in had]


def _named(let: Let) -> Iterable[Guest]:
    return Guest.objects.filter(rod_days__let=let).distinct()


def _best(rows: Sequence[RodDay], count: int) -> list[RodDay]:
    """Which rods of a day stay when fewer are wanted: those with a name, then the lowest."""
    return sorted(rows, key=lambda row: (row.guest_id is None, row.rod))[:count]


def _names_for(fresh: Sequence[RodDay], old: Book, kept: Book) -> list[tuple[RodDay, RodDay]]:
    """Each new rod-day beside the old one whose names it takes: of the same day, or of the let's first."""
    if not old:
        return []
    first = old[min(old)]
    left: dict[dt.date, list[RodDay]] = {}
    pairs = []
    for row in fresh:
        if row.day not in left:
            staying = {each.pk for each in kept.get(row.day, ())}
            names = [each for each in old.get(row.day, first) if each.guest_id and each.pk not in staying]
            left[row.day] = names
        if left[row.day]:
            pairs.append((row, left[row.day].pop(0)))
    return pairs


def _take_place(rows, old: Guest, new: Guest) -> None:
    """Rod-days in one guest's name pass to another."""
    if old.pk == new.pk:
        return
    theirs = rows.filter(guest=old)
    days = list(theirs.order_by("day").values_list("day", flat=True))
    if days:
        hold_still([new])
        refuse_names_twice(days, [new], besides=[])
        theirs.update(guest=new)


def _going(let: Let, *, from_on: dt.date | None, rods: int | None, today: dt.date) -> list[RodDay]:
    """The rod-days that change hands, in order. Raises BadLet when the cut makes no sense."""
    if (from_on is None) == (rods is None):
        raise BadLet(
            say("Split by days or by rods: give from_on or rods."), errors={"from_on": [say("One of the two.")]}
        )
    rows = list(let.rod_days.order_by("day", "rod"))
    if rods is not None:
        if not 1 <= rods < let.rods:
            raise BadLet(
                say("This let has {let_rods} rods. Give fewer.", let_rods=let.rods),
                errors={"rods": [say("1 to {let_rods}.", let_rods=let.rods - 1)]},
            )
        if let.first_on < today:
            raise BadLet(
                say("Some days are fished already. Split at today first."), errors={"rods": [say("Too late.")]}
            )
        by_day: Book = defaultdict(list)
        for row in rows:
            by_day[row.day].append(row)
        return [row for day in sorted(by_day) for row in by_day[day][-rods:]]
    if from_on < today:
        raise BadLet(say("Days already past stay as they are."), errors={"from_on": [say("Already past.")]})
    going = [row for row in rows if row.day >= from_on]
    if not going or len(going) == len(rows):
        raise BadLet(
            say("Both parts need a day. Choose a day inside the let."), errors={"from_on": [say("Not inside.")]}
        )
    return going


def _part(
    let: Let, booker: Guest, now: dt.datetime, columns: dict[str, Any], *, first_on: dt.date, rods: int
) -> Let:
    kind = Let.Kind.DAY if rods < let.rods and let.kind == Let.Kind.WHOLE_BEAT else let.kind
    return Let.objects.create(
        beat=let.beat, booker=booker, status=let.status, kind=kind, weekday=let.weekday, rods=rods,
        first_on=first_on, last_on=let.last_on, company=let.company, made_at=now, expires_at=let.expires_at,
        confirmed_at=let.confirmed_at, split_from=let, **columns,
    )  # fmt: skip


def _shrink(let: Let, *, rods: int | None) -> None:
    """What is left of a let once a part of it has gone."""
    if rods is not None:
        let.rods -= rods
        let.kind = Let.Kind.DAY if let.kind == Let.Kind.WHOLE_BEAT else let.kind
    else:
        let.last_on = let.rod_days.order_by("-day").values_list("day", flat=True)[0]
    let.version += 1
    let.save(update_fields=["rods", "kind", "last_on", "version"])
