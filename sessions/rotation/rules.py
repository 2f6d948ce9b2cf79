"""A rota read against the rules, by plain counting: nothing here knows the solver."""

import itertools
from collections import Counter
from collections.abc import Iterable
from fractions import Fraction

from sessions.rotation.problem import Problem, Step


def broken(problem: Problem, steps: Iterable[Step]) -> list[str]:
    """Every hard rule the rota breaks, in words; empty when it keeps them all."""
    steps = sorted(steps, key=lambda step: (step.day, problem.parts.index(step.part), step.rod))
    rods = {rod.key: rod for rod in problem.rods}
    places = {place.key: place for place in problem.places}
    faults = []
    for rod in problem.rods:
        have = [(step.day, step.part) for step in steps if step.rod == rod.key]
        if have != list(problem.slots_of(rod)):
            faults.append(f"{rod.name} has not exactly one turn in each part of their days")
    faults += [
        f"{rods[step.rod].name} may not fish {places[step.pool].name} on {step.day}"
        for step in steps
        if not problem.may(rods[step.rod], places[step.pool], step.day)
    ]
    for (day, part, pool), count in Counter((step.day, step.part, step.pool) for step in steps).items():
        if count > places[pool].holds:
            faults.append(f"{count} rods on {places[pool].name}, {day} {part}")
    afloat = Counter((step.day, step.part) for step in steps if places[step.pool].boat)
    faults += [
        f"{count} rods afloat, {day} {part}" for (day, part), count in afloat.items() if count > problem.boats
    ]
    for rod in problem.rods:
        pools = [step.pool for step in steps if step.rod == rod.key]
        if any(first == then for first, then in itertools.pairwise(pools)):
            faults.append(f"{rod.name} stays on one pool for two turns running")
    return faults


def worth_by_rod(problem: Problem, steps: Iterable[Step]) -> dict[str, Fraction]:
    """Worth per turn fished, by rod: what is to be equal."""
    worth = {place.key: place.worth for place in problem.places}
    total = Counter[str]()
    for step in steps:
        total[step.rod] += worth[step.pool]
    return {rod.key: Fraction(total[rod.key], problem.turns_of(rod)) for rod in problem.rods}


def repeats(steps: Iterable[Step]) -> int:
    """Visits beyond the first of a rod to a pool, summed."""
    visits = Counter((step.rod, step.pool) for step in steps)
    return sum(count - 1 for count in visits.values())
