"""Changing a rota that stands: when the river does, or by the ghillie's hand.

Nothing is edited. Every change is a new draft that says what it replaces, who moves and why.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from beats.models import Pool, User
from beats.queries import Role, require_role
from beats.shared.once import Once, made_earlier, make_once
from beats.shared.phrases import joined, say
from sessions.models import Rota, Turn
from sessions.rotation import Goal, Slot, Step
from sessions.rotation.problem import NoRota
from sessions.services.certificate import certificate, moves, shown, worth_lines
from sessions.services.fished import NotThere, Since, fished, from_now
from sessions.services.keeping_off import refuse_forbidden, solved, with_todays_conditions
from sessions.services.rotas import keep_draft
from sessions.services.week import Week, week_of
from sessions.turn_conditions import add_conditions
from sessions.turn_warnings import without_a_pool

if TYPE_CHECKING:
    from sessions.rotation.answer import Answer

KEEPERS = (Role.OWNER, Role.GHILLIE)
QUICK = {"effort": 0.3, "tries": 9000}
"""The ghillie stands in the rain: fewest changes are proven first, and what is left gets a second or two."""


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

    `since` is where the change begins (the part under way without it), `pins` send a turn's rod to a
    pool, `bars` keep a turn's rod off its pool; those of the rota before stay, where the river and the
    book still allow them. Closures and the level are read anew. Raises NotThere, NoRota, BadWeek,
    NotYours, KeyReused.
    """
    require_role(by, rota.beat.fishery, *KEEPERS)
    if earlier := made_earlier(Rota, by=by, once=once):
        return earlier, False
    week = with_todays_conditions(week_of(rota.beat, rota.first_on, level_m=level_m, now=now), now=now)
    before = week.steps(rota)
    since = since or from_now(rota.beat, week, now)
    been = fished(week, before, since)
    if len(been) == len(before):
        raise NotThere(say("Every turn of this rota has been fished. Plan the next week instead."))
    pinned, barred = wished(
        rota, week, been,
        pins=[_sent(week, turn, pool) for turn, pool in pins], bars=[week.step(turn) for turn in bars],
    )  # fmt: skip
    week = week.asking(fished=been, pinned=pinned, barred=barred, former=frozenset(before) - been)
    try:
        answer = solved(week, **QUICK)
    except NoRota as refusal:  # the rota stands as it was: which rods it leaves without a pool is said at once
        raise NoRota(joined((refusal.sentence, *without_a_pool(rota, now=now)))) from refusal
    paper = certificate(week, answer) | {
        "moves": moves(week, before, list(answer.steps)),
        "effect": _effects(week, before, answer),
    }
    wishes = {
        "level_m": level_m,
        "since": [since.day.isoformat(), since.part],
        "pinned": _written(pinned),
        "barred": _written(barred),
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
    week, after, paper = _changed_over(rota, turn, other, now)
    wishes = {**rota.wishes, "swapped": [turn.pk, other.pk]}

    def make(columns: dict[str, Any]) -> Rota:
        return keep_draft(rota.beat, rota.first_on, week, after, certificate=paper, wishes=wishes,
                          by=by, now=now, columns=columns, replaces=rota)  # fmt: skip

    return make_once(Rota, by=by, once=once, make=make)


def preview_swap(rota: Rota, *, turn: Turn, other: Turn, by: User, now: dt.datetime) -> dict[str, Any]:
    """What `swap` would do, and nothing done: `moves` and `effect`. Raises as it does."""
    require_role(by, rota.beat.fishery, *KEEPERS)
    paper = _changed_over(rota, turn, other, now)[-1]
    return {"moves": paper["moves"], "effect": paper["effect"]}


def _changed_over(
    rota: Rota, turn: Turn, other: Turn, now: dt.datetime
) -> tuple[Week, list[Step], dict[str, Any]]:
    """The week, its steps with two turns changed over, and their certificate."""
    week = _week_now(rota, now)
    before = week.steps(rota)
    if {week.step(turn), week.step(other)} & fished(week, before, from_now(rota.beat, week, now)):
        raise NotThere(say("That turn has been fished already. Change one that is still to come."))
    after, effect = swapped(week, before, week.step(turn), week.step(other))
    paper = {
        **rota.certificate,
        "status": "changed by hand",
        "goals": [],  # what was proven of the rota before says nothing of this one
        "worth_by_rod": worth_lines(week, after),
        "moves": moves(week, before, after, why="changed over by hand"),
        "effect": effect,
    }
    return week, after, paper


def _week_now(rota: Rota, now: dt.datetime) -> Week:
    """A rota's week at the level it was worked out for, with what today's conditions forbid."""
    week = week_of(rota.beat, rota.first_on, level_m=rota.wishes.get("level_m"), now=now)
    return with_todays_conditions(week, now=now)


def swapped(week: Week, before: list[Step], one: Step, other: Step) -> tuple[list[Step], list[dict[str, Any]]]:
    """The rota with two turns changed over, and what that does to each goal."""
    from sessions.rotation.rules import broken  # noqa: PLC0415 - beside the engine, loaded only here
    from sessions.rotation.scores import scores  # noqa: PLC0415

    if one.slot != other.slot:
        raise NotThere(
            say("Two rods change places in the same part of the same day. Pick two turns side by side.")
        )
    changed = {one: Step(*one.slot, one.rod, other.pool), other: Step(*other.slot, other.rod, one.pool)}
    # From one forbidden pool to another nothing is worse than before; both stay marked.
    refuse_forbidden(week, [step for old, step in changed.items() if old not in week.forbidden])
    after = [changed.get(step, step) for step in before]
    new_faults = [fault for fault in broken(week.problem, after) if fault not in broken(week.problem, before)]
    if new_faults:
        raise NotThere("That cannot be: " + "; ".join(new_faults) + ". Nothing was changed.")
    was, now = scores(week.problem, before), scores(week.problem, after)
    return after, [_effect(goal, was[goal], now[goal]) for goal in week.problem.goals]


def why(turn: Turn, *, now: dt.datetime) -> dict[str, Any]:
    """Why a rod is on a pool, and what the nearest rota without that would cost, goal by goal."""
    rota = turn.rota
    add_conditions([turn], now=now)
    week = _week_now(rota, now)
    before = week.steps(rota)
    here = week.step(turn)
    been = fished(week, before, from_now(rota.beat, week, now)) - {here}
    pinned, barred = wished(rota, week, been | {here}, pins=[], bars=[here])
    rod, place = week.problem.rod[here.rod], week.problem.place[here.pool]
    other = week.asking(fished=been, pinned=pinned - {here}, barred=barred, former=frozenset(before) - been)
    known = turn.conditions
    facts = [
        f"{place.name} needs wading grade {place.wading}; {rod.name} may wade up to {rod.wading}.",
        f"It is worth {place.worth_in(here.part)} in the {here.part} (10 is an ordinary pool).",
        _visits(before, here, place.name),
    ]
    if known is None or not known.do_not_fish:
        return {"turn": turn.pk, "conditions": known, "facts": facts, "without_it": _without(other, before)}
    told = [*known.reasons, known.what_to_do, *facts]
    try:
        without = _without(other, before)
    except NoRota as refusal:
        told, without = [*told, refusal.sentence], None
    return {"turn": turn.pk, "conditions": known, "facts": told, "without_it": without}


def _without(other: Week, before: list[Step]) -> dict[str, Any]:
    """The nearest rota to another question, and what it costs. Raises NoRota."""
    answer = solved(other, **QUICK)
    return {
        "changes": moves(other, before, list(answer.steps)),
        "effect": _effects(other, before, answer),
        "proven_fewest_changes": answer.reached[0].proven,
    }


def _written(steps: Iterable[Step]) -> list[list[str]]:
    return [[step.day.isoformat(), step.part, step.rod, step.pool] for step in sorted(steps, key=str)]


def wished(
    rota: Rota, week: Week, been: frozenset[Step], *, pins: list[Step], bars: list[Step]
) -> tuple[frozenset[Step], frozenset[Step]]:
    """Pins and bars to keep: those given now, and of the ones before what they leave standing."""
    settled = {(step.rod, step.slot) for step in [*been, *pins, *bars]}
    old_pins, old_bars = (_standing(week, rota.wishes.get(key, ()), settled) for key in ("pinned", "barred"))
    may = [
        pin
        for pin in old_pins
        if pin not in week.forbidden
        and week.problem.place[pin.pool] in week.problem.choices(week.problem.rod[pin.rod], pin.slot)
    ]
    return frozenset([*pins, *may]), frozenset([*bars, *old_bars])


def _standing(week: Week, written: Iterable[Sequence[str]], settled: set[tuple[str, Slot]]) -> list[Step]:
    steps = [Step(dt.date.fromisoformat(day), part, rod, pool) for day, part, rod, pool in written]
    return [
        step
        for step in steps
        if (step.rod, step.day) in week.claims
        and step.pool in week.pools
        and step.part in week.parts
        and (step.rod, step.slot) not in settled
    ]


def _sent(week: Week, turn: Turn, pool: Pool) -> Step:
    """The turn's rod on another pool, if the rules let it stand there at all."""
    step = week.step(turn)
    rod, place = week.problem.rod[step.rod], week.problem.place.get(pool.slug)
    if place is None:
        raise NotThere(say("{pool_name} is not fished on this beat.", pool_name=pool.name))
    if place.wading > rod.wading:
        raise NotThere(
            say(
                "{place_name} needs wading grade {place_wading}; {rod_name} may wade up to {rod_wading}.",
                place_name=place.name,
                place_wading=place.wading,
                rod_name=rod.name,
                rod_wading=rod.wading,
            )
        )
    if reason := week.problem.closed.get((*step.slot, place.key)):
        raise NotThere(
            say(
                "{place_name} is closed then: {reason}. Open it first, or choose another pool.",
                place_name=place.name,
                reason=reason,
            )
        )
    sent = Step(*step.slot, step.rod, place.key)
    refuse_forbidden(week, [sent])
    return sent


def _effects(week: Week, before: list[Step], answer: "Answer") -> list[dict[str, Any]]:
    from sessions.rotation.scores import scores  # noqa: PLC0415 - beside the engine, loaded only here

    was, now = scores(week.problem, before), scores(week.problem, answer.steps)
    return [_effect(goal, was[goal], now[goal]) for goal in week.problem.goals if goal is not Goal.CHANGES]


def _effect(goal: Goal, was: Any, now: Any) -> dict[str, Any]:
    verdict = say("as before") if was == now else (say("better") if now < was else say("worse"))
    return {"goal": goal.value, "before": shown(goal, was), "after": shown(goal, now), "verdict": verdict}


def _visits(steps: list[Step], here: Step, name: str) -> str:
    number = sum(step.rod == here.rod and step.pool == here.pool for step in steps)
    return f"The rod is on {name} {'once' if number == 1 else f'{number} times'} this week."
