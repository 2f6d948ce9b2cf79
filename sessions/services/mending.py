"""Changing a rota that stands: when the river does, or by the ghillie's hand.

Nothing is edited. Every change is a new draft that says what it replaces, who moves and why.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from beats.models import Pool, User
from beats.queries import Role, require_role
from beats.shared.once import Once, made_earlier, make_once
from beats.shared.refusals import Refusal
from sessions.models import Rota, Turn
from sessions.rotation import Goal, Step
from sessions.services.certificate import certificate, moves, shown, worth_lines
from sessions.services.rotas import keep_draft, worked_out
from sessions.services.week import Week, week_of

if TYPE_CHECKING:
    from sessions.rotation.answer import Answer

KEEPERS = (Role.OWNER, Role.GHILLIE)
QUICK = {"effort": 1.0, "tries": 1500}


class NotThere(Refusal):
    """The hand-made change puts somebody where a rule does not let them be."""

    code = "not-there"
    title = "Not on that pool"


@dataclass(frozen=True)
class Since:
    """From which part of which day turns may change; what is before has been fished."""

    day: dt.date
    part: str | None = None


def replan(
    rota: Rota,
    *,
    since: Since | None = None,
    pins: Sequence[tuple[Turn, Pool]] = (),
    bars: Sequence[Turn] = (),
    level_m: float | None = None,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[Rota, bool]:
    """A new draft that keeps what is fished and changes the fewest turns, then the policy's goals.

    `since` is where the change begins (the whole week without it), `pins` send a turn's rod to a
    pool, `bars` keep a turn's rod off its pool. Closures and the level are read anew. Raises NotThere,
    NoRota, BadWeek, NotYours, KeyReused.
    """
    require_role(by, rota.beat.fishery, *KEEPERS)
    if earlier := made_earlier(Rota, by=by, once=once):
        return earlier, False
    week = week_of(rota.beat, rota.first_on, level_m=level_m, now=now)
    before = week.steps(rota)
    fished = _before(week, before, since)
    pinned = {_sent(week, turn, pool) for turn, pool in pins}
    former = [step for step in before if step not in fished]
    week = week.asking(
        pinned=frozenset(fished | pinned), barred=frozenset(week.step(turn) for turn in bars),
        former=frozenset(former),
    )  # fmt: skip
    answer = worked_out(week.problem, **QUICK)
    paper = certificate(week, answer) | {"moves": moves(week, before, list(answer.steps))}
    wishes = {
        "level_m": level_m,
        "since": [since.day.isoformat(), since.part] if since else None,
        "pinned": _written(pinned),
        "barred": _written(week.problem.barred),
    }

    def make(columns: dict[str, Any]) -> Rota:
        return keep_draft(rota.beat, rota.first_on, week, list(answer.steps), certificate=paper, wishes=wishes,
                          by=by, now=now, columns=columns, replaces=rota)  # fmt: skip

    return make_once(Rota, by=by, once=once, make=make)


def swap(
    rota: Rota, *, turn: Turn, other: Turn, by: User, now: dt.datetime, once: Once | None = None
) -> tuple[Rota, bool]:
    """A new draft in which two rods change places in one part, with the effect on every goal.

    Raises NotThere when a rule forbids it, naming the rule.
    """
    require_role(by, rota.beat.fishery, *KEEPERS)
    if earlier := made_earlier(Rota, by=by, once=once):
        return earlier, False
    week = week_of(rota.beat, rota.first_on, level_m=None, now=now)
    before = week.steps(rota)
    after, effect = swapped(week, before, week.step(turn), week.step(other))
    paper = {
        **rota.certificate,
        "status": "changed by hand",
        "goals": [],  # what was proven of the rota before says nothing of this one
        "worth_by_rod": worth_lines(week, after),
        "moves": moves(week, before, after),
        "effect": effect,
    }
    wishes = {"swapped": [turn.pk, other.pk]}

    def make(columns: dict[str, Any]) -> Rota:
        return keep_draft(rota.beat, rota.first_on, week, after, certificate=paper, wishes=wishes,
                          by=by, now=now, columns=columns, replaces=rota)  # fmt: skip

    return make_once(Rota, by=by, once=once, make=make)


def swapped(week: Week, before: list[Step], one: Step, other: Step) -> tuple[list[Step], list[dict[str, Any]]]:
    """The rota with two turns changed over, and what that does to each goal."""
    from sessions.rotation.rules import broken  # noqa: PLC0415 - beside the engine, loaded only here
    from sessions.rotation.scores import scores  # noqa: PLC0415

    if one.slot != other.slot:
        raise NotThere("Two rods change places in the same part of the same day. Pick two turns side by side.")
    changed = {one: Step(*one.slot, one.rod, other.pool), other: Step(*other.slot, other.rod, one.pool)}
    after = [changed.get(step, step) for step in before]
    new_faults = [fault for fault in broken(week.problem, after) if fault not in broken(week.problem, before)]
    if new_faults:
        raise NotThere("That cannot be: " + "; ".join(new_faults) + ". Nothing was changed.")
    was, now = scores(week.problem, before), scores(week.problem, after)
    return after, [_effect(goal, was[goal], now[goal]) for goal in week.problem.goals]


def why(turn: Turn, *, now: dt.datetime) -> dict[str, Any]:
    """Why a rod is on a pool, and what the nearest rota without that would cost, goal by goal."""
    rota = turn.rota
    week = week_of(rota.beat, rota.first_on, level_m=(rota.wishes or {}).get("level_m"), now=now)
    before = week.steps(rota)
    here = week.step(turn)
    rod, place = week.problem.rod[here.rod], week.problem.place[here.pool]
    other = week.asking(barred=frozenset({here}), former=frozenset(before))
    answer = worked_out(other.problem, **QUICK)
    return {
        "turn": turn.pk,
        "facts": [
            f"{place.name} needs wading grade {place.wading}; {rod.name} may wade up to {rod.wading}.",
            f"It is worth {place.worth_in(here.part)} in the {here.part} (10 is an ordinary pool).",
            _visits(before, here, place.name),
        ],
        "without_it": {
            "changes": moves(other, before, list(answer.steps)),
            "effect": _effects(other, before, answer),
            "proven_fewest_changes": answer.reached[0].proven,
        },
    }


def _written(steps: Iterable[Step]) -> list[list[str]]:
    return [[step.day.isoformat(), step.part, step.rod, step.pool] for step in sorted(steps, key=str)]


def _before(week: Week, steps: list[Step], since: Since | None) -> set[Step]:
    if since is None:
        return set()
    parts = list(week.problem.parts)
    if since.part is not None and since.part not in parts:
        raise NotThere(f"There is no part of the day called {since.part}. There is: {', '.join(parts)}.")
    start = (since.day, parts.index(since.part) if since.part else 0)
    return {step for step in steps if (step.day, parts.index(step.part)) < start}


def _sent(week: Week, turn: Turn, pool: Pool) -> Step:
    """The turn's rod on another pool, if the rules let it stand there at all."""
    step = week.step(turn)
    rod, place = week.problem.rod[step.rod], week.problem.place.get(pool.slug)
    if place is None:
        raise NotThere(f"{pool.name} is not fished on this beat.")
    if place.wading > rod.wading:
        raise NotThere(f"{place.name} needs wading grade {place.wading}; {rod.name} may wade up to {rod.wading}.")
    if reason := week.problem.closed.get((*step.slot, place.key)):
        raise NotThere(f"{place.name} is closed then: {reason}. Open it first, or choose another pool.")
    return Step(*step.slot, step.rod, place.key)


def _effects(week: Week, before: list[Step], answer: "Answer") -> list[dict[str, Any]]:
    from sessions.rotation.scores import scores  # noqa: PLC0415 - beside the engine, loaded only here

    was, now = scores(week.problem, before), scores(week.problem, answer.steps)
    return [_effect(goal, was[goal], now[goal]) for goal in week.problem.goals if goal is not Goal.CHANGES]


def _effect(goal: Goal, was: Any, now: Any) -> dict[str, Any]:
    verdict = "as before" if was == now else ("better" if now < was else "worse")
    return {"goal": goal.value, "before": shown(goal, was), "after": shown(goal, now), "verdict": verdict}


def _visits(steps: list[Step], here: Step, name: str) -> str:
    number = sum(step.rod == here.rod and step.pool == here.pool for step in steps)
    return f"The rod is on {name} {'once' if number == 1 else f'{number} times'} this week."
