"""The fairest rota, by OR-Tools CP-SAT.

Three goals, each kept before the next is looked at: the worst-off rod's worth per turn as high as it
can be; then the best-off rod as little above it as can be; then the fewest second visits of a rod to
a pool. One worker, a fixed seed and a limit in the solver's own deterministic time make the same
input give the same rota; the clock on the wall is never asked.
"""

import itertools
import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ortools.sat.python import cp_model

from sessions.rotation.problem import NoRota, Place, Problem, Rod, Step, refuse_hopeless
from sessions.rotation.rules import broken, repeats, worth_by_rod

SEED = 20_141
EFFORT = 4.0  # deterministic time for each goal; close to seconds on a slow laptop


@dataclass(frozen=True)
class Goal:
    """How far one goal was brought: its value, the bound no rota can pass, and whether they meet."""

    name: str
    value: Fraction
    bound: Fraction

    @property
    def proven(self) -> bool:
        return self.value == self.bound


@dataclass(frozen=True)
class Answer:
    """A rota and how good it is. `worth` is per turn, by rod key."""

    steps: tuple[Step, ...]
    goals: tuple[Goal, ...]
    worth: dict[str, Fraction]
    repeats: int

    @property
    def proven(self) -> bool:
        return all(goal.proven for goal in self.goals)


@dataclass(frozen=True)
class _Model:
    model: cp_model.CpModel
    at: dict[tuple[str, int, str], Any]
    scale: int
    least: Any
    most: Any
    second_visits: Any


def solve(problem: Problem, *, effort: float = EFFORT) -> Answer:
    """The fairest rota for a problem. Raises NoRota, naming the cause, when no rota keeps the rules.

    `effort` limits each goal in deterministic time; a goal not proven by then says so.
    """
    refuse_hopeless(problem)
    made = _build(problem)
    goals: list[Goal] = []
    steps: tuple[Step, ...] = ()
    for name, expression, up, scale in (
        ("worth of the worst-off rod", made.least, True, made.scale),
        ("best-off above worst-off", made.most - made.least, False, made.scale),
        ("second visits to a pool", made.second_visits, False, 1),
    ):
        (made.model.maximize if up else made.model.minimize)(expression)
        solver = _run(made.model, effort)
        value, bound = round(solver.objective_value), _bound(solver, up=up)
        steps = _steps(problem, made, solver)
        goals.append(Goal(name, Fraction(value, scale), Fraction(bound, scale)))
        if up:
            made.model.add(expression >= value)
        else:
            made.model.add(expression <= value)
        _hint(made, solver)
    if faults := broken(problem, steps):
        raise AssertionError("the solver broke a rule: " + "; ".join(faults))
    return Answer(steps, tuple(goals), worth_by_rod(problem, steps), repeats(steps))


def _build(problem: Problem) -> _Model:
    model = cp_model.CpModel()
    places = sorted(problem.places, key=lambda place: (place.order, place.key))
    rods = sorted(problem.rods, key=lambda rod: rod.key)
    at = {
        (rod.key, slot, place.key): model.new_bool_var(f"{rod.key}|{slot}|{place.key}")
        for rod in rods
        for slot, (day, _) in enumerate(problem.slots)
        if day in rod.days
        for place in places
        if problem.may(rod, place, day)
    }
    _one_pool_a_turn(model, problem, rods, places, at)
    _room_on_each_pool(model, problem, rods, places, at)
    _never_twice_running(model, problem, rods, places, at)
    scale, least, most = _fairness(model, problem, rods, places, at)
    return _Model(model, at, scale, least, most, _second_visits(model, problem, rods, places, at))


def _one_pool_a_turn(
    model: Any, problem: Problem, rods: list[Rod], places: list[Place], at: dict[Any, Any]
) -> None:
    for rod in rods:
        for slot in _slots(problem, rod):
            model.add_exactly_one(at[key] for place in places if (key := (rod.key, slot, place.key)) in at)


def _room_on_each_pool(
    model: Any, problem: Problem, rods: list[Rod], places: list[Place], at: dict[Any, Any]
) -> None:
    for slot in range(len(problem.slots)):
        afloat = []
        for place in places:
            here = [at[key] for rod in rods if (key := (rod.key, slot, place.key)) in at]
            afloat += here if place.boat else []
            if len(here) > place.holds:
                model.add(sum(here) <= place.holds)
        if len(afloat) > problem.boats:
            model.add(sum(afloat) <= problem.boats)


def _never_twice_running(
    model: Any, problem: Problem, rods: list[Rod], places: list[Place], at: dict[Any, Any]
) -> None:
    for rod in rods:
        slots = _slots(problem, rod)
        for first, then in itertools.pairwise(slots):
            for place in places:
                pair = [(rod.key, slot, place.key) for slot in (first, then)]
                if all(key in at for key in pair):
                    model.add_at_most_one(at[key] for key in pair)


def _fairness(
    model: Any, problem: Problem, rods: list[Rod], places: list[Place], at: dict[Any, Any]
) -> tuple[int, Any, Any]:
    """Worth per turn, scaled to whole numbers so that rods out for fewer days compare fairly."""
    scale = math.lcm(*(problem.turns_of(rod) for rod in rods))
    top = scale * max(place.worth for place in places)
    least, most = model.new_int_var(0, top, "least"), model.new_int_var(0, top, "most")
    for rod in rods:
        weight = scale // problem.turns_of(rod)
        worth = sum(
            weight * place.worth * at[key]
            for slot in _slots(problem, rod)
            for place in places
            if (key := (rod.key, slot, place.key)) in at
        )
        model.add(least <= worth)
        model.add(most >= worth)
    return scale, least, most


def _second_visits(model: Any, problem: Problem, rods: list[Rod], places: list[Place], at: dict[Any, Any]) -> Any:
    extra = []
    for rod in rods:
        for place in places:
            visits = [at[key] for slot in _slots(problem, rod) if (key := (rod.key, slot, place.key)) in at]
            if len(visits) > 1:
                over = model.new_int_var(0, len(visits) - 1, f"again|{rod.key}|{place.key}")
                model.add(over >= sum(visits) - 1)
                extra.append(over)
    return sum(extra) if extra else model.new_constant(0)


def _slots(problem: Problem, rod: Rod) -> list[int]:
    return [slot for slot, (day, _) in enumerate(problem.slots) if day in rod.days]


def _run(model: cp_model.CpModel, effort: float) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.catch_sigint_signal = False  # else Ctrl-C belongs to it, and afterwards to nobody
    solver.parameters.max_deterministic_time = effort
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        raise NoRota(
            "The rods cannot all be moved to another pool in every part of the day with the pools that are "
            "open. Open a pool, let fewer rods, or allow harder wading."
        )
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        raise NoRota("No rota was found within the effort allowed. Split the beat, or open more pools.")
    return solver


def _bound(solver: cp_model.CpSolver, *, up: bool) -> int:
    """The whole number that no rota can pass."""
    rounding: Callable[[float], int] = math.floor if up else math.ceil
    nudge = 1e-6 if up else -1e-6
    return rounding(solver.best_objective_bound + nudge)


def _hint(made: _Model, solver: cp_model.CpSolver) -> None:
    made.model.clear_hints()  # type: ignore[no-untyped-call]
    for variable in made.at.values():
        made.model.add_hint(variable, solver.value(variable))


def _steps(problem: Problem, made: _Model, solver: cp_model.CpSolver) -> tuple[Step, ...]:
    chosen = sorted((slot, rod, pool) for (rod, slot, pool), here in made.at.items() if solver.boolean_value(here))
    return tuple(Step(*problem.slots[slot], rod, pool) for slot, rod, pool in chosen)
