"""The rota engine against counting by hand, against every rota there is, and against chance."""

import datetime as dt
import itertools
from fractions import Fraction

import pytest
from hypothesis import event, given, settings
from hypothesis import strategies as st

from sessions.rotation import NoRota, Place, Problem, Rod, Step
from sessions.rotation.rules import broken, repeats, worth_by_rod
from sessions.rotation.solve import solve

MONDAY = dt.date(2026, 5, 4)
WEEK = tuple(MONDAY + dt.timedelta(days=n) for n in range(6))


def rod(key, days=WEEK, wading=3):
    return Rod(key, f"Rod {key}", tuple(days), wading)


def place(key, order, worth=10, **more):
    return Place(
        key, f"Pool {key}", order, holds=more.pop("holds", 1), wading=more.pop("wading", 0), worth=worth, **more
    )


def score(problem, steps):
    """The three goals in their order, larger is better."""
    worth = worth_by_rod(problem, steps).values()
    return min(worth), -(max(worth) - min(worth)), -repeats(steps)


def every_rota(problem):
    """All rotas that keep the rules, by counting through every choice."""
    turns = [(key, day, part) for key in problem.rods for day, part in problem.slots_of(key)]
    for pools in itertools.product(problem.places, repeat=len(turns)):
        steps = [Step(day, part, key.key, pool.key) for (key, day, part), pool in zip(turns, pools, strict=True)]
        if not broken(problem, steps):
            yield steps


SMALL = {
    "two rods, three pools": Problem(
        (rod("a", WEEK[:2]), rod("b", WEEK[:2])),
        (place("x", 1, 16), place("y", 2, 9), place("z", 3, 4)),
        ("am", "pm"),
    ),
    "a late comer": Problem(
        (rod("a", WEEK[:3]), rod("b", WEEK[2:3])), (place("x", 1, 12), place("y", 2, 7), place("z", 3, 3)), ("am",)
    ),
    "a weak wader": Problem(
        (rod("a", WEEK[:2], 3), rod("b", WEEK[:2], 1)),
        (place("x", 1, 15, wading=3), place("y", 2, 8), place("z", 3, 6, wading=1)),
        ("am", "pm"),
    ),
    "a closed day and a boat": Problem(
        (rod("a", WEEK[:2]), rod("b", WEEK[:2])),
        (place("x", 1, 14, boat=True, holds=2), place("y", 2, 9), place("z", 3, 5)),
        ("am", "pm"),
        closed={(WEEK[1], "y"): "resting"},
        boats=1,
    ),
}


@pytest.mark.parametrize("name", SMALL)
def test_no_rota_there_is_beats_the_one_found(name):
    """Closed by brute force: every rota of a small week is counted through."""
    problem = SMALL[name]
    found = solve(problem)
    best = max(score(problem, steps) for steps in every_rota(problem))
    assert score(problem, found.steps) == best
    assert found.proven
    assert [goal.value for goal in found.goals] == [best[0], -best[1], -best[2]]


def test_alike_rods_and_pools_are_shared_exactly():
    problem = Problem(
        tuple(rod(key) for key in "abcd"),
        tuple(place(key, n, 8 + n) for n, key in enumerate("wxyz")),
        ("am", "pm"),
    )
    found = solve(problem)
    assert set(found.worth.values()) == {Fraction(19, 2)}  # the mean of 8, 9, 10 and 11
    assert found.proven


def test_the_same_week_gives_the_same_rota():
    problem = SMALL["a weak wader"]
    turned_round = Problem(problem.rods[::-1], problem.places[::-1], problem.parts)
    assert solve(problem).steps == solve(problem).steps == solve(turned_round).steps


def test_a_solve_cut_short_says_that_it_is_not_proven():
    """Too little effort to prove the second goal; the first answer still keeps every rule."""
    places = tuple(place(f"p{n}", n, 5 + n * 7 % 11, wading=n % 4) for n in range(9))
    rods = tuple(rod(f"r{n}", WEEK[n % 3 :], wading=1 + n % 3) for n in range(6))
    problem = Problem(rods, places, ("am", "pm"))
    found = solve(problem, effort=0.25)
    assert not found.proven
    assert broken(problem, found.steps) == []
    assert all(goal.bound >= goal.value for goal in found.goals[:1])


@st.composite
def weeks(draw):
    count = draw(st.integers(2, 5))
    places = tuple(
        Place(f"p{n}", f"Pool {n}", n, draw(st.integers(1, 2)), draw(st.integers(0, 3)), draw(st.integers(1, 20)))
        for n in range(draw(st.integers(count, 7)))
    )
    days = st.lists(st.sampled_from(WEEK[:3]), min_size=1, max_size=3, unique=True).map(sorted)
    rods = tuple(rod(f"r{n}", draw(days), draw(st.integers(0, 3))) for n in range(count))
    some_day, some_pool = st.sampled_from(WEEK[:3]), st.sampled_from([place.key for place in places])
    closed = draw(st.dictionaries(st.tuples(some_day, some_pool), st.just("closed"), max_size=3))
    return Problem(rods, places, ("am", "pm"), closed)


@settings(max_examples=60, deadline=None)
@given(weeks())
def test_whatever_the_week_the_rules_hold_or_the_cause_is_named(problem):
    try:
        found = solve(problem, effort=1.0)
    except NoRota:
        event("refused")
        return
    assert broken(problem, found.steps) == []
    assert found.goals[0].value == min(found.worth.values())
    assert found.goals[0].value <= found.goals[0].bound


@pytest.mark.parametrize(
    ("problem", "says"),
    [
        (Problem((), (place("x", 1),), ("am",)), "no rods"),
        (Problem((rod("a"),), (), ("am",)), "no pools"),
        (Problem((rod("a", wading=0),), (place("x", 1, wading=2), place("y", 2, wading=1)), ("am",)), "may wade"),
        (Problem((rod("a"), rod("b"), rod("c")), (place("x", 1), place("y", 2)), ("am",)), "only 2"),
        (Problem((rod("a"),), (place("x", 1),), ("am", "pm")), "another pool"),
        (Problem((rod("a"), rod("b")), (place("x", 1, holds=2, boat=True), place("y", 2)), ("am",)), "only 1"),
        (Problem(tuple(rod(f"r{n}") for n in range(200)), (place("x", 1),), ("am",)), "200 rods"),
    ],
)
def test_an_impossible_week_is_refused_with_its_cause(problem, says):
    with pytest.raises(NoRota, match=says):
        solve(problem)


def test_the_referee_sees_every_kind_of_fault():
    """The checker itself is checked: each rule broken once, by hand."""
    places = (place("x", 1, wading=2), place("y", 2), place("b", 3, boat=True))
    problem = Problem(
        (rod("a", WEEK[:1], 0), rod("c", WEEK[:1], 3)), places, ("am", "pm"), {(WEEK[0], "b"): "low"}
    )
    steps = [
        Step(WEEK[0], "am", "a", "x"),
        Step(WEEK[0], "pm", "a", "y"),
        Step(WEEK[0], "am", "c", "x"),
        Step(WEEK[0], "pm", "c", "x"),
    ]
    told = " / ".join(broken(problem, steps))
    assert "Rod a may not fish Pool x" in told
    assert "2 rods on Pool x" in told
    assert "Rod c stays on one pool" in told
    assert "not exactly one turn" in " / ".join(broken(problem, steps[1:]))
    afloat = [Step(WEEK[0], "am", "c", "b")]
    assert any("afloat" in text for text in broken(problem, afloat))
