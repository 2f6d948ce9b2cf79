"""Every goal of a rota, counted out by hand."""

from dataclasses import replace
from fractions import Fraction

import pytest

from sessions.rotation.problem import Discounts, Goal, Policy, Step
from sessions.rotation.scores import follows, fresh_shares, in_time, ranking, scores, worth_by_rod
from tests.sessions.rotation.weeks import MON, TUE, WEEK, place, rod, rota, week

POOLS = (place("x", 0, 10), place("y", 1, 20, worth_by_part={"pm": 30}), place("z", 3, 4))
TWO = week("ab", POOLS)
STEPS = rota(TWO, a="xy xz", b="yx zy")
COUNTED = {
    Goal.CHANGES: 0,
    Goal.REPEATS: 2,  # a comes back to x, b to y
    Goal.WORST: -Fraction(1000 + 30 * 70 + (1000 - 10 * 20) + 4 * 70, 400),
    Goal.SPREAD: Fraction(2000 + 10 * 70 + 400 + (3000 - 20 * 20), 400) - Fraction(4180, 400),
    Goal.FOLLOW: 3,  # a comes after b on y, x and z: three times, so three pairs of times; b after a once
    Goal.FIRST: Fraction(3, 4) - Fraction(2, 4),
    Goal.WALK: 1 + 3 + 1 + 2,
}


def test_every_goal_is_what_counting_by_hand_gives():
    assert scores(TWO, STEPS) == COUNTED


@pytest.mark.parametrize(
    ("policy", "former", "order"),
    [
        (Policy.ALL_THE_WATER, frozenset(), "REPEATS WORST SPREAD FOLLOW FIRST WALK"),
        (Policy.BEST_WATER, frozenset(), "WORST SPREAD REPEATS FOLLOW FIRST WALK"),
        (Policy.ALL_THE_WATER, frozenset(STEPS), "CHANGES REPEATS WORST SPREAD FOLLOW FIRST WALK"),
        (Policy.BEST_WATER, frozenset(STEPS), "CHANGES WORST SPREAD REPEATS FOLLOW FIRST WALK"),
    ],
)
def test_the_goals_are_ranked_in_the_policys_order(policy, former, order):
    problem = replace(TWO, policy=policy, former=former)
    assert ranking(problem, STEPS) == tuple(COUNTED[Goal[name]] for name in order.split())


def test_the_order_the_turns_are_given_in_does_not_matter():
    assert scores(TWO, STEPS[::-1]) == scores(TWO, sorted(STEPS, key=lambda step: step.pool)) == COUNTED


def test_second_hand_water_counts_less_and_sharing_a_pool_at_once_does_not():
    problem = week(
        "abc", [place("x", 0, 10, holds=2), place("y", 1, 10), place("z", 2, 10)], discounts=Discounts(45, 0, 0)
    )
    steps = rota(problem, a="xy zx", b="xz yz", c="yx xy")
    worth = {"a": Fraction(10 + 5.5 + 10 + 5.5) / 4, "b": Fraction(10 + 10 + 10 + 5.5) / 4}
    assert worth_by_rod(problem, steps) == worth | {"c": Fraction(10 + 5.5 + 10 + 5.5) / 4}
    shares = {"a": Fraction(2, 4), "b": Fraction(3, 4), "c": Fraction(2, 4)}
    assert fresh_shares(problem, in_time(problem, steps)) == shares


def test_another_day_makes_water_fresh_again():
    problem = week("ab", POOLS, ("am",))
    assert worth_by_rod(problem, rota(problem, a="xy", b="yx")) == {"a": Fraction(15), "b": Fraction(15)}


def test_the_second_and_the_third_visit_lose_their_part_and_the_fourth_no_more():
    problem = week([rod("a", WEEK[:4])], POOLS[:2], discounts=Discounts(30, 15, 35))
    worth = 10 * (4 - 0.15 - 0.35 - 0.35) + 30 * 4 - 20 * (0.15 + 0.35 + 0.35)
    assert worth_by_rod(problem, rota(problem, a="xy xy xy xy")) == {"a": Fraction(round(worth * 100), 800)}


def test_a_rod_of_fewer_days_is_judged_by_its_own_turns():
    problem = week([rod("a"), rod("b", [TUE])], POOLS)
    steps = rota(problem, a="xz zx", b="-- yz")
    found = scores(problem, steps)
    turns_of_a = 1000 + 400 + (400 - 4 * 20) + (1000 - 10 * 20)  # on Tuesday b comes to z after a
    assert worth_by_rod(problem, steps) == {"a": Fraction(turns_of_a, 400), "b": Fraction(2000 + 4 * 70, 200)}
    assert found[Goal.WORST] == -Fraction(63, 10)
    assert found[Goal.FIRST] == 1 - Fraction(1, 2)


def test_following_counts_from_evening_to_morning_and_from_both_who_were_there():
    problem = week("abc", [place("x", 0, holds=2), place("y", 1, holds=2), place("z", 2)])
    steps = rota(problem, a="yx zy", b="zx yz", c="xy xx")
    counted = {("c", "a"): 1, ("c", "b"): 2, ("a", "c"): 2, ("b", "c"): 1, ("b", "a"): 1, ("a", "b"): 1}
    assert follows(problem, in_time(problem, steps)) == counted


def test_ways_are_tens_of_metres_where_every_pool_says_where_it_lies():
    lies = {"x": (0, 0), "y": (30, 40), "z": (-300, 404)}
    pools = [place(key, n, east_m=east, north_m=north) for n, (key, (east, north)) in enumerate(lies.items())]
    problem = week([rod("a")], pools)
    steps = rota(problem, a="xy zx")
    assert scores(problem, steps)[Goal.WALK] == 5 + 50  # 503 m; the way home at night is not counted
    half_measured = replace(problem, places=(*pools[:2], replace(pools[2], north_m=None)))
    assert scores(half_measured, steps)[Goal.WALK] == 1 + 2


def test_changes_are_the_former_turns_that_are_no_longer_so():
    gone = Step(MON, "am", "somebody who left", "x")
    problem = replace(TWO, former=frozenset({*rota(TWO, a="xz xz", b="zx yz"), gone}))
    assert scores(problem, STEPS)[Goal.CHANGES] == 1 + 3 + 1
