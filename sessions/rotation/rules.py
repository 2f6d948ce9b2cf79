"""A rota read against the hard rules, by plain counting: nothing here knows a solver.

Fished turns are facts: a rule that only they break is not held against the rest.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from itertools import pairwise

from sessions.rotation.problem import Problem, Slot, Step
from sessions.rotation.scores import in_time


def broken(problem: Problem, steps: Iterable[Step]) -> list[str]:
    """Every hard rule the rota breaks, in words; empty when it keeps them all."""
    ordered = in_time(problem, steps)
    return [
        *_one_turn_each(problem, ordered),
        *_allowed(problem, ordered),
        *_room(problem, ordered),
        *_never_twice_running(problem, ordered),
        *_company(problem, ordered),
        *(
            f"the turn {pin.rod} on {pin.pool}, {pin.day} {pin.part} was to stay"
            for pin in (problem.fished | problem.pinned) - set(ordered)
        ),
    ]


def _one_turn_each(problem: Problem, ordered: list[Step]) -> Iterator[str]:
    have: dict[str, list[object]] = defaultdict(list)
    for step in ordered:
        have[step.rod].append(step.slot)
    for rod in problem.rods:
        if have[rod.key] != problem.slots_of(rod):
            yield f"{rod.name} has not exactly one turn in each part of their days"


def _allowed(problem: Problem, ordered: list[Step]) -> Iterator[str]:
    for step in ordered:
        rod = problem.rod[step.rod]
        if step.pool not in {place.key for place in problem.choices(rod, step.slot)}:
            yield f"{rod.name} may not fish {problem.place[step.pool].name}, {step.day} {step.part}"


def _room(problem: Problem, ordered: list[Step]) -> Iterator[str]:
    for (day, part, pool), count in Counter((*step.slot, step.pool) for step in ordered).items():
        if count > problem.room_on((day, part), problem.place[pool]):
            yield f"{count} rods on {problem.place[pool].name}, {day} {part}"
    for (day, part), count in Counter(step.slot for step in ordered if problem.place[step.pool].boat).items():
        if count > problem.boats_at((day, part)):
            yield f"{count} rods afloat, {day} {part}"
    for (day, part), count in Counter(step.slot for step in ordered if problem.led(step)).items():
        if count > problem.ghillies_at((day, part)):
            yield f"{count} rods want a ghillie, {day} {part}"


def _never_twice_running(problem: Problem, ordered: list[Step]) -> Iterator[str]:
    for rod in problem.rods:
        turns = [step for step in ordered if step.rod == rod.key]
        if any(a.pool == b.pool and not {a, b} <= problem.fished for a, b in pairwise(turns)):
            yield f"{rod.name} stays on one pool for two turns running"


def _company(problem: Problem, ordered: list[Step]) -> Iterator[str]:
    where = {(step.rod, step.slot): step for step in ordered}

    def pools(a: str, b: str, slot: Slot) -> set[str]:
        """Where the two are, when both are out and not both fished."""
        both = {where.get((a, slot)), where.get((b, slot))} - {None}
        return {step.pool for step in both if step} if len(both) == 2 and not both <= problem.fished else set()

    for slot in problem.slots:
        for a, b in problem.together:
            if len(pools(a, b, slot)) == 2:
                yield f"{problem.rod[a].name} and {problem.rod[b].name} are apart, {slot[0]} {slot[1]}"
        for a, b in problem.apart:
            if len(pools(a, b, slot)) == 1:
                yield f"{problem.rod[a].name} and {problem.rod[b].name} are together, {slot[0]} {slot[1]}"
