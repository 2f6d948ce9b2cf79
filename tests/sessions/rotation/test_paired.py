"""Pools in pairs, a pair a day: best by construction, and known to be."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sessions.rotation.designs import paired_rota
from sessions.rotation.problem import Goal
from sessions.rotation.rules import broken
from sessions.rotation.scores import scores
from sessions.rotation.solve import solve
from tests.sessions.rotation.weeks import WEEK, place, rod, week


@st.composite
def full_weeks(draw):
    """Six alike rods for six days and twelve pools of any worth, some weeks with a map."""
    metres = draw(st.sampled_from([st.none(), st.integers(-2000, 2000)]))
    places = [
        place(f"p{n}", n, draw(st.integers(1, 30)), east_m=draw(metres), north_m=draw(metres)) for n in range(12)
    ]
    return week([rod(key, WEEK) for key in "abcdef"], places)


@settings(max_examples=8)
@given(full_weeks())
def test_six_rods_twelve_pools_and_six_days_are_proven_at_every_goal(problem):
    steps = paired_rota(problem)
    assert broken(problem, steps) == []
    answer = solve(problem)
    assert answer.proven
    assert set(answer.steps) == set(steps)
    found = scores(problem, steps)
    assert [found[goal] for goal in (Goal.REPEATS, Goal.SPREAD, Goal.FOLLOW, Goal.FIRST)] == [0, 0, 0, 0]
    assert set(answer.worth.values()) == {Fraction(sum(pool.worth for pool in problem.places), 12)}


def test_with_more_pools_than_needed_the_best_are_taken():
    worth = [5, 1, 9, 7, 3, 8, 2, 6]
    problem = week(
        [rod(key, WEEK[:3]) for key in "abc"], [place(f"p{n}", n, each) for n, each in enumerate(worth)]
    )
    used = {problem.place[step.pool].worth for step in paired_rota(problem)}
    assert used == {9, 8, 7, 6, 5, 3}


ALIKE = week([rod(key, WEEK[:3]) for key in "abc"], "uvwxyz")


@pytest.mark.parametrize(
    "change",
    [
        {"parts": ("am",)},
        {"places": ALIKE.places[:5]},
        {"rods": (*ALIKE.rods, rod("d", WEEK[:3]))},
        {"rods": (rod("a", WEEK[:3]), rod("b", WEEK[:2]))},
    ],
)
def test_where_it_does_not_fit_there_is_none(change):
    assert paired_rota(ALIKE) is not None
    assert paired_rota(replace(ALIKE, **change)) is None
