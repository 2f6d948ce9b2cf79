"""A week nobody can plan is refused at once, in a sentence that names the people and the cause."""

import time
from dataclasses import replace

import pytest

from sessions.rotation import NoRota
from sessions.rotation.problem import Discounts, Step
from sessions.rotation.solve import solve
from tests.sessions.rotation.weeks import MON, TUE, WED, WEEK, place, rod, week

ONE = week([rod("a", [MON])], "xy", ("am",))
GRADED = [place(key, n, wading=1) for n, key in enumerate("uvwxy")] + [place("z", 9, wading=3, holds=9)]
NAMES = [f"Rod {key}" for key in "abcdef"]
SIX_WEAK = week([rod(key, wading=1) for key in "abcdef"], GRADED)
THREE_ON_TWO = week("abc", "xyz", closed={(TUE, "am", "z"): "low"})
TOO_HARD = week([rod("a", [MON], 0)], [place("h", 0, wading=1)])


def worth(number, **by_part):
    return replace(ONE, places=(place("x", 0, number, worth_by_part=by_part), place("y", 1)))


def pinned(*pins):
    return replace(ONE, pinned=frozenset(Step(day, "am", key, pool) for day, key, pool in pins))


REFUSED = {
    "There are no rods to make a rota of.": week([], "x"),
    "There are no pools to make a rota of.": week("a", []),
    "There are no parts to make a rota of.": week("a", "x", ()),
    "There are no days to make a rota of.": week([rod("a", [])], "x"),
    "200 rods are more than one rota can hold (60). Split the beat.": week(
        [rod(f"r{n}") for n in range(200)], "x"
    ),
    "200 pools are more than one rota can hold (120). Split the beat.": week(
        "a", [place(f"p{n}", n) for n in range(200)]
    ),
    "On Monday 4 May, am, 6 rods need pools of wading grade 1 or easier, but only 5 can fish there at once: "
    f"{', '.join(NAMES)}. Open a pool, or raise a guest's grade.": SIX_WEAK,
    "On Tuesday 5 May, am, 3 rods need pools of wading grade 3 or easier, but only 2 can fish there at once: "
    "Rod a, Rod b, Rod c. Open a pool, or raise a guest's grade.": THREE_ON_TWO,
    "On Monday 4 May, am, there is no open pool that Rod a may wade.": TOO_HARD,
    "Pool x has the worth nan. Give a whole number from 1 to 1000.": worth(float("nan")),
    "Pool x has the worth inf. Give a whole number from 1 to 1000.": worth(float("inf")),
    "Pool x has the worth 0. Give a whole number from 1 to 1000.": worth(0),
    "Pool x has the worth -3. Give a whole number from 1 to 1000.": worth(-3),
    "Pool x has the worth 2.5. Give a whole number from 1 to 1000.": worth(2.5),
    "Pool x has the worth 1001. Give a whole number from 1 to 1000.": worth(1001),
    "Pool x has the worth 0.5. Give a whole number from 1 to 1000.": worth(7, am=0.5),
    "On Monday 4 May, am, Rod a is pinned to both Pool x and Pool y. Take one pin away.": pinned(
        (MON, "a", "x"), (MON, "a", "y")
    ),
    "A turn is pinned to x on Wednesday 6 May, which is outside this rota.": pinned((WED, "a", "x")),
    "A turn is pinned to the weir on Monday 4 May, which is outside this rota.": pinned((MON, "a", "the weir")),
    "A turn is pinned to x on Monday 4 May, which is outside this rota.": pinned((MON, "nobody", "x")),
    "A turn is pinned to x on Tuesday 5 May, which is outside this rota.": replace(
        pinned((TUE, "a", "x")), rods=(rod("a", [MON]), rod("b", [TUE]))
    ),
    "Rod b has no day in this rota. Give the rod a day, or leave it out.": replace(
        ONE, rods=(*ONE.rods, rod("b", []))
    ),
    "On Monday 4 May, am, Rod a is pinned to Pool x, which is closed, too hard to wade or barred. "
    "Take the pin away.":
        replace(pinned((MON, "a", "x")), closed={(MON, "am", "x"): "low"}),
    "A discount of 120 percent is not possible. Give 0 to 100.": replace(ONE, discounts=Discounts(30, 120, 40)),
}  # fmt: skip


@pytest.mark.parametrize("sentence", REFUSED)
def test_it_is_refused_within_a_second_and_the_cause_is_named(sentence):
    began = time.monotonic()
    with pytest.raises(NoRota) as no:
        solve(REFUSED[sentence])
    assert time.monotonic() - began < 1
    assert no.value.sentence == sentence


def test_a_pair_of_whom_one_is_not_out_asks_for_nothing():
    pairs = frozenset({("a", "gone home"), ("gone home", "b")})
    problem = week("ab", "xyz")
    answer = solve(replace(problem, together=pairs, apart=pairs), tries=100)
    assert answer.steps == solve(problem, tries=100).steps


def test_one_pool_for_two_turns_is_refused_as_staying():
    with pytest.raises(NoRota) as no:
        solve(week([rod("a", [MON])], "x"))
    assert no.value.sentence == (
        "On Monday 4 May these cannot all be kept: Rod a fishes this week; no rod stays on a pool for two turns. "
        "Give up one of them."
    )


def test_a_week_stopped_by_hand_still_has_a_rota_and_says_so():
    problem = week(
        [rod(f"r{n}", WEEK[: 2 + n % 4]) for n in range(5)], [place(f"p{n}", n, 3 + n * n) for n in range(7)]
    )
    answer = solve(problem, stop=lambda: True)
    assert answer.cut_short == "stopped by hand"
    assert len(answer.steps) == sum(problem.turns_of(each) for each in problem.rods)
