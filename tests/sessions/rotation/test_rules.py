"""The referee is checked too: each hard rule broken once by hand, and fished turns are facts."""

from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given, settings

from sessions.rotation import Step
from sessions.rotation.rules import broken
from tests.sessions.rotation.strategies import weeks
from tests.sessions.rotation.weeks import MON, TUE, every_rota, place, rod, rota, week

POOLS = (
    place("x", 0), place("y", 1), place("z", 2, holds=2), place("h", 3, wading=2),
    place("b", 4, boat=True), place("c", 5, boat=True, ghillie=True),
)  # fmt: skip
WEEK_OF_TWO = week(
    [rod("a", wading=1), rod("b")], POOLS, boats=1, ghillies=1, closed={(MON, "pm", "y"): "resting"}
)


def test_a_rota_that_keeps_every_rule_is_told_nothing():
    assert broken(WEEK_OF_TWO, rota(WEEK_OF_TWO, a="xz xb", b="zh zx")) == []


@pytest.mark.parametrize(
    ("a", "b", "told"),
    [
        ("xz x-", "zh zx", "Rod a has not exactly one turn in each part of their days"),
        ("xh xb", "zx zx", "Rod a may not fish Pool h, 2026-05-04 pm"),
        ("xy xb", "zh zx", "Rod a may not fish Pool y, 2026-05-04 pm"),
        ("xz yx", "zh yz", "2 rods on Pool y, 2026-05-05 am"),
        ("xz xb", "zh zc", "2 rods afloat, 2026-05-05 pm"),
        ("zx yz", "hz zx", "Rod b stays on one pool for two turns running"),
    ],
)
def test_each_rule_broken_once_is_told(a, b, told):
    found = broken(WEEK_OF_TWO, rota(WEEK_OF_TWO, a=a, b=b))
    assert found == [told]


def test_a_turn_too_many_is_told():
    twice = (*rota(WEEK_OF_TWO, a="xz xb", b="zh zx"), Step(MON, "am", "a", "z"))
    assert "Rod a has not exactly one turn in each part of their days" in broken(WEEK_OF_TWO, twice)


def test_a_rod_stays_though_a_day_at_home_lies_between():
    problem = week([rod("a", [MON, TUE.replace(day=6)]), rod("b", [TUE])], "xyz")
    assert broken(problem, rota(problem, a="xy -- yx", b="-- zx --")) == [
        "Rod a stays on one pool for two turns running"
    ]


def test_a_ghillie_is_wanted_by_the_rod_and_by_the_pool_but_once_a_turn():
    pools = (place("x", 0), place("g", 1, ghillie=True))
    problem = week([rod("a", [MON], needs_ghillie=True), rod("b", [MON])], pools, ("am",), ghillies=1)
    assert broken(problem, rota(problem, a="g", b="x")) == []
    assert broken(problem, rota(problem, a="x", b="g")) == ["2 rods want a ghillie, 2026-05-04 am"]


def test_company_kept_or_not_is_told():
    problem = week("ab", [place("x", 0, holds=2), place("y", 1)], ("am",))
    steps = rota(problem, a="xy", b="xx"), rota(problem, a="x-", b="x-")
    pair = frozenset({("a", "b")})
    assert "Rod a and Rod b are apart, 2026-05-05 am" in broken(replace(problem, together=pair), steps[0])
    assert "Rod a and Rod b are together, 2026-05-04 am" in broken(replace(problem, apart=pair), steps[0])


def test_a_bar_and_a_pin_are_told():
    barred = replace(WEEK_OF_TWO, barred=frozenset({Step(TUE, "pm", "b", "x")}))
    assert broken(barred, rota(barred, a="xz xb", b="zh zx")) == ["Rod b may not fish Pool x, 2026-05-05 pm"]
    pinned = replace(WEEK_OF_TWO, pinned=frozenset({Step(TUE, "pm", "b", "y")}))
    assert broken(pinned, rota(pinned, a="xz xb", b="zh zx")) == [
        "Rod b may not fish Pool x, 2026-05-05 pm", "the turn b on y, 2026-05-05 pm was to stay",
    ]  # fmt: skip


FACTS = {
    "room": (week("ab", "xyz"), {"a": "xy zx", "b": "xz yx"}),
    "staying": (week("ab", "xyz"), {"a": "xx yx", "b": "yz zy"}),
    "boats": (week("ab", [*POOLS[4:], place("x", 0)], boats=1, ghillies=2), {"a": "bx cx", "b": "cb xb"}),
    "ghillies": (
        week("ab", [place("g", 0, ghillie=True, holds=2), place("x", 1, holds=2)]), {"a": "gx gx", "b": "gx gx"},
    ),
    "together": (week("ab", "xyz", together=frozenset({("a", "b")})), {"a": "xy xy", "b": "yx yx"}),
    "apart": (
        week("ab", [place("x", 0, holds=2), place("y", 1, holds=2)], apart=frozenset({("a", "b")})),
        {"a": "xy xy", "b": "xy xy"},
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", FACTS)
def test_what_only_fished_turns_break_is_a_fact(name):
    problem, lines = FACTS[name]
    steps = rota(problem, **lines)
    assert broken(problem, steps) != []
    assert broken(replace(problem, fished=frozenset(steps)), steps) == []


@settings(max_examples=50)
@given(weeks([(2, 3, 1, 2), (2, 3, 2, 1), (3, 3, 1, 1), (1, 3, 2, 2)]))
def test_the_referee_and_the_rules_as_told_agree_on_every_rota_there_is(problem):
    turns = [(slot, each.key) for slot in problem.slots for each in problem.rods if slot[0] in each.days]
    every = product([pool.key for pool in problem.places], repeat=len(turns))
    made = ([Step(*slot, key, pool) for (slot, key), pool in zip(turns, pools, strict=True)] for pools in every)
    keep = {frozenset(steps) for steps in made if not broken(problem, steps)}
    assert keep == {frozenset(steps) for steps in every_rota(problem)}
