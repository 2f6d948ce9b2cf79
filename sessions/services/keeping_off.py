"""Keeping rods off the pools that today's conditions forbid them, as far as a rota allows.

The engine is only asked a narrower question: a forbidden turn is one more barred turn. Where no rota fits so, bars
are taken away until one does, and the turns that are left on a forbidden pool are named in the certificate.
"""

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from beats.queries import local_day
from beats.shared.phrases import say
from sessions.rotation import Problem, Slot, Step
from sessions.rotation.problem import NoRota
from sessions.services.fished import NotThere
from sessions.services.week import Week
from sessions.turn_conditions import Ask, conditions_of

if TYPE_CHECKING:
    from sessions.rotation.answer import Answer

Forbidden = Mapping[Step, str]
"""A turn of today that the conditions forbid, and the first reason."""


def with_todays_conditions(week: Week, *, now: dt.datetime) -> Week:
    """The week, knowing which turns of the rest of today the conditions forbid."""
    beats = {pool.beat for pool in week.pools.values()}
    today = {beat.pk: local_day(beat.fishery, now) for beat in beats}
    asks = [
        Ask(Step(day, part.slug, rod, slug), day, part.starts, part.ends, pool.pk,
            tuple(guest for guest in (claim.guest_id, claim.sharer_id) if guest))
        for (rod, day), claim in week.claims.items()
        for slug, pool in week.pools.items()
        if day == today[pool.beat_id]
        for part in week.parts.values()
    ]  # fmt: skip
    found = conditions_of(asks, now=now)
    return replace(week, forbidden={step: one.reasons[0] for step, one in found.items() if one.do_not_fish})


def solved(week: Week, **search: object) -> "Answer":
    """The rota of a week that keeps off what is forbidden today where any rota does. Raises NoRota."""
    from sessions.rotation.solve import solve  # noqa: PLC0415 - slow to load, and only planning needs it

    for bars in _bars(week.problem, week.forbidden):
        try:
            return solve(replace(week.problem, barred=week.problem.barred | bars), **search)
        except NoRota:
            if not bars:
                raise
    raise AssertionError("the last of the bars is none at all")


def notes_on(week: Week, steps: Iterable[Step]) -> list[str]:
    """What was left out for today, and which turns could not be kept off."""
    if not week.forbidden:
        return []
    names = {week.pools[step.pool].name: None for step in sorted(week.forbidden, key=str)}
    notes = [
        say(
            "As the river and the closures stand now, some or all rods must not fish today: {pools}.",
            pools=", ".join(names),
        )
    ]
    for step in steps:
        if reason := week.forbidden.get(step):
            rod, pool = week.problem.rod[step.rod].name, week.pools[step.pool].name
            notes.append(
                say(
                    "No other rota fits: {rod} is on {pool} today, {part}. Do not let them fish it. {reason}",
                    rod=rod, pool=pool, part=week.parts[step.part].name, reason=reason,
                )
            )  # fmt: skip
    return notes


def refuse_forbidden(week: Week, steps: Iterable[Step]) -> None:
    """Raise NotThere for a turn by hand that the conditions of today forbid."""
    for step in steps:
        if reason := week.forbidden.get(step):
            raise NotThere(
                say(
                    "{rod} must not fish {pool} today, {part}: {reason} Choose another pool.",
                    rod=week.problem.rod[step.rod].name, pool=week.pools[step.pool].name,
                    part=week.parts[step.part].name, reason=reason,
                )
            )  # fmt: skip


def _bars(problem: Problem, forbidden: Forbidden) -> list[frozenset[Step]]:
    """What to bar, the most first: all but for rods that would have no pool; the next part alone; nothing."""
    slots = sorted({step.slot for step in forbidden}, key=lambda slot: (slot[0], problem.parts.index(slot[1])))
    by_slot = {slot: _bars_of(problem, forbidden, slot) for slot in slots}
    whole = frozenset(step for bars in by_slot.values() for step in bars)
    first = by_slot[slots[0]] if slots else frozenset()
    return list(dict.fromkeys((whole, first, frozenset())))


def _bars_of(problem: Problem, forbidden: Forbidden, slot: Slot) -> frozenset[Step]:
    """The forbidden turns of a part, but for rods that no allowed pool has room for."""
    rods = [rod for rod in problem.rods if slot[0] in rod.days]
    allowed = {
        rod.key: [
            place.key for place in problem.choices(rod, slot) if Step(*slot, rod.key, place.key) not in forbidden
        ]
        for rod in rods
    }
    room = {place.key: problem.room_on(slot, place) for place in problem.places}
    placed = _placed(allowed, room)
    return frozenset(step for step in forbidden if step.slot == slot and step.rod in placed)


def _placed(allowed: Mapping[str, list[str]], room: Mapping[str, int]) -> frozenset[str]:
    """As many rods as have room on the pools they may fish, by augmenting paths (maximum bipartite matching)."""
    on: dict[str, list[str]] = {pool: [] for pool in room}

    def place(rod: str, seen: set[str]) -> bool:
        for pool in allowed[rod]:
            if pool in seen:
                continue
            seen.add(pool)
            if len(on[pool]) < room[pool]:
                on[pool].append(rod)
                return True
            for number, other in enumerate(on[pool]):
                if place(other, seen):
                    on[pool][number] = rod
                    return True
        return False

    return frozenset(rod for rod in sorted(allowed, key=lambda rod: (len(allowed[rod]), rod)) if place(rod, set()))
