"""Bounds are bounds: no rota there is passes one."""

from dataclasses import replace
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from sessions.rotation import Step, bounds
from sessions.rotation.grid import Grid
from sessions.rotation.problem import Discounts, Goal
from sessions.rotation.scores import scores
from tests.sessions.rotation.strategies import LITTLE, weeks
from tests.sessions.rotation.weeks import MON, TUE, WEEK, every_rota, place, rod, week


def counted(problem):
    """Second visits, the worst-off rod's worth and the way, for every rota there is."""
    grid = Grid(problem)
    at = [problem.goals.index(goal) for goal in (Goal.REPEATS, Goal.WORST, Goal.WALK)]
    rankings = {grid.ranking(grid.cells_of(steps)) for steps in every_rota(problem)}
    return [(r[at[0]], -Fraction(r[at[1]], 100 * grid.scale), r[at[2]]) for r in rankings]


@settings(max_examples=80)
@given(weeks(LITTLE))
def test_no_rota_there_is_passes_a_bound(problem):
    found = counted(problem)
    assume(found)
    assert min(repeats for repeats, *_ in found) >= bounds.least_repeats(problem)
    for settled in (None, *{repeats for repeats, *_ in found}):
        alike = [each for each in found if settled in (None, each[0])]
        assert max(worst for _, worst, _ in alike) <= bounds.most_for_the_worst_off(problem, repeats=settled)
        assert min(way for *_, way in alike) >= bounds.least_walk(problem, repeats=settled)


def test_two_turns_fished_on_one_pool_needed_no_way():
    fished = frozenset({Step(MON, "am", "a", "x"), Step(MON, "pm", "a", "x")})
    problem = week([rod("a", [MON])], [place("x", 0), place("y", 5)], fished=fished)
    assert [scores(problem, steps)[Goal.WALK] for steps in every_rota(problem)] == [0]
    assert bounds.least_walk(problem, repeats=1) == 0


def test_more_turns_than_pools_bring_a_rod_back():
    problem = week([rod("a", WEEK[:3]), rod("b", WEEK[:1])], "wxyz")
    assert bounds.least_repeats(problem) == 6 - 4
    closed = {(day, part, "z"): "resting" for day in WEEK[:3] for part in ("am", "pm")}
    assert bounds.least_repeats(replace(problem, closed=closed)) == 6 - 3


def test_the_worst_off_rods_best_turns_alone_on_the_river():
    pools = [place("x", 0, 20), place("y", 1, 12), place("z", 2, 4)]
    problem = week([rod("a", [MON])], pools, discounts=Discounts(30, 50, 60))
    assert bounds.most_for_the_worst_off(problem, repeats=0) == Fraction(20 + 12, 2)
    longer = replace(problem, rods=(rod("a"),))
    assert bounds.most_for_the_worst_off(longer, repeats=1) == Fraction(20 + 12 + 4 + 10, 4)
    assert bounds.most_for_the_worst_off(longer, repeats=None) == Fraction(20 + 12 + 10 + 8, 4)


def matchings(keys, wanted):
    """Every way to make so many pairs with no pool in common."""
    pairs = list(combinations(keys, 2))
    return (
        some for some in combinations(pairs, wanted) if len({key for pair in some for key in pair}) == 2 * wanted
    )


@settings(max_examples=80)
@given(st.lists(st.tuples(st.integers(-900, 900), st.integers(-900, 900)), min_size=2, max_size=8), st.data())
def test_the_shortest_pairs_are_the_shortest_of_all_there_are(lies, data):
    keys = "stuvwxyz"[: len(lies)]
    places = [
        place(key, n, east_m=east, north_m=north)
        for n, (key, (east, north)) in enumerate(zip(keys, lies, strict=True))
    ]
    problem = week("a", places)
    wanted = data.draw(st.integers(1, len(keys) // 2))
    shortest = min(sum(problem.way(*pair) for pair in some) for some in matchings(keys, wanted))
    assert bounds.shortest_pairing(problem, list(keys), wanted) == shortest


def test_two_parts_a_day_bound_the_way_by_pairs_of_pools():
    """Three pools near each other and one far: the nearest two twice over would be no pairs."""
    problem = week([rod("a")], [place("w", 0), place("x", 1), place("y", 2), place("z", 9)])
    assert bounds.least_walk(problem, repeats=0) == (1 - 0) + (9 - 2)
    assert bounds.least_walk(problem, repeats=1) == 1 + 1


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"rods": (rod("a", wading=0), rod("b"))}, [("wading grades", Fraction(1, 2), 1)]),
        (
            {"closed": {(day, part, "x"): "low" for day in (MON, TUE) for part in ("am", "pm")}},
            [("closed pools", Fraction(10) - Fraction(6 * 10 + 2 * 7, 8), 2)],
        ),
        ({}, []),
    ],
)
def test_the_rule_that_costs_most_is_named(change, named):
    pools = [place("w", 0, 10), place("x", 1, 10), place("y", 2, 10), place("z", 3, 10, wading=2)]
    problem = replace(week("ab", pools), **change)
    assert bounds.binding(problem) == named
