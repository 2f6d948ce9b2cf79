"""The worst-off rod's worth by another solver, from the problem as it is told: HiGHS, mixed-integer.

Source of the second opinion: HiGHS, as scipy.optimize.milp carries it.
"""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from scipy.optimize import Bounds, LinearConstraint, milp

from sessions.rotation import NoRota
from sessions.rotation.problem import Discounts, Goal, Policy, Problem
from sessions.rotation.solve import solve
from tests.sessions.rotation.strategies import weeks

SIZES = [(2, 3, 2, 2), (3, 4, 2, 2), (3, 5, 3, 1), (4, 6, 2, 1)]


def best_for_the_worst_off(problem):
    """The largest worth a turn that every rod can have; None when no rota keeps the rules.

    Each rod is on one open pool it may wade in each part, not on the same in two turns running; a
    pool takes no more rods than it holds. Nothing is taken off for second-hand water or returning.
    """
    may = [
        (rod, slot, pool)
        for rod in problem.rods for slot in problem.slots for pool in problem.places
        if slot[0] in rod.days and pool.wading <= rod.wading and (*slot, pool.key) not in problem.closed
    ]  # fmt: skip
    rows, least, most = zip(*_rules(problem, may), strict=True)
    found = milp(
        [0.0] * len(may) + [-1.0],  # the last column is the worth that is to be made large
        constraints=LinearConstraint(np.array(rows), least, most),
        integrality=[1] * len(may) + [0],
        bounds=Bounds(0, [1] * len(may) + [1000]),
        options={"mip_rel_gap": 0},
    )
    assert found.status in (0, 2), found.message  # optimal, or no rota at all
    return -found.fun if found.status == 0 else None


def _rules(problem, may):
    """Rows of numbers, each with the least and the most its sum may be."""

    def row(rods=problem.rods, slots=problem.slots, pools=problem.places):
        return [float(rod in rods and slot in slots and pool in pools) for rod, slot, pool in may] + [0.0]

    for slot in problem.slots:
        yield from ((row(slots=[slot], pools=[pool]), 0, pool.holds) for pool in problem.places)
    for rod in problem.rods:
        slots = [slot for slot in problem.slots if slot[0] in rod.days]
        yield from ((row([rod], [slot]), 1, 1) for slot in slots)
        yield from ((row([rod], two, [pool]), 0, 1) for two in pairwise(slots) for pool in problem.places)
        worth = [pool.worth_by_part.get(slot[1], pool.worth) * (who is rod) for who, slot, pool in may]
        yield [*worth, -len(slots)], 0, np.inf


@settings(max_examples=40)
@given(weeks(SIZES, plain=True))
def test_another_solver_finds_the_same_for_the_worst_off(week):
    problem = Problem(
        week.rods, week.places, week.parts, week.closed, policy=Policy.BEST_WATER, discounts=Discounts(0, 0, 0)
    )
    expected = best_for_the_worst_off(problem)
    if expected is None:
        with pytest.raises(NoRota):
            solve(problem, tries=50)
        return
    worst = next(each for each in solve(problem, tries=50).reached if each.goal is Goal.WORST)
    assert worst.proven
    assert -worst.value == pytest.approx(expected, abs=1e-4)  # turns divide worth by 4 at most; HiGHS allows 1e-6
