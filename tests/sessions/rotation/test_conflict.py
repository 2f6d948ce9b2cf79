"""The smallest set of rules in conflict: impossible as it stands, possible without any one of them."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, event, given, settings

from sessions.rotation import NoRota
from sessions.rotation.problem import Step
from sessions.rotation.refusing import _rules, conflict, gathered, refuse_conflict, refuse_hopeless
from sessions.rotation.solve import possible, solve
from tests.sessions.rotation.strategies import LITTLE, weeks
from tests.sessions.rotation.weeks import MON, TUE, every_rota, place, rod, week

PAIR = frozenset({("a", "b")})
FIVE = [place(key, n, wading=1) for n, key in enumerate("uvwxy")] + [
    place(f"h{n}", 6 + n, wading=3) for n in range(3)
]
IMPOSSIBLE = {
    "six rods, but only five places they may wade": week([rod(key, wading=1) for key in "abcdef"], FIVE, ("am",)),
    "one pool for two parts": week([rod("a", [MON])], "x"),
    "three rods on two pools": week("abc", "xy", ("am",)),
    "together on pools for one": week("ab", "xyz", ("am",), together=PAIR),
    "apart on one pool": week("ab", [place("x", 0, holds=2)], ("am",), apart=PAIR),
    "together and apart": week("ab", [place("x", 0, holds=2), place("y", 1, holds=2)], together=PAIR, apart=PAIR),
    "no boat": week("ab", [place("b", 0, boat=True), place("c", 1, boat=True), place("x", 2)], boats=0),
    "one ghillie for two": week([rod(key, [MON], needs_ghillie=True) for key in "ab"], "xyz", ghillies=1),
    "a pin that nobody may share": week(
        "ab", "xy", closed={(TUE, "am", "x"): "low"}, pinned=frozenset({Step(TUE, "am", "a", "y")})
    ),
    "pinned apart, kept together": week(
        "ab", [place("x", 0, holds=2), place("y", 1, holds=2)], together=PAIR,
        pinned=frozenset({Step(MON, "am", "a", "x")}), barred=frozenset({Step(MON, "am", "b", "x")}),
    ),
}  # fmt: skip


def keeping(problem, told):
    """The problem with none of its rules but those told."""
    for text, without in _rules(problem):
        if text not in told:
            problem = without(problem)
    return problem


def check_that_none_can_be_spared(problem, can_be):
    told = conflict(problem, possible)
    assert not can_be(keeping(problem, told))
    assert told
    for rule in told:
        assert can_be(keeping(problem, [other for other in told if other != rule])), rule
    return told


@pytest.mark.parametrize("name", IMPOSSIBLE)
def test_no_rule_named_can_be_spared(name):
    check_that_none_can_be_spared(IMPOSSIBLE[name], possible)


def any_rota(problem):
    return not problem.rods or next(every_rota(problem), None) is not None


@settings(max_examples=50, suppress_health_check=[HealthCheck.filter_too_much])  # few little weeks are impossible
@given(weeks(LITTLE))
def test_by_counting_through_all_rotas_no_rule_named_can_be_spared(problem):
    # A fished turn makes room where it stands, so taking one away may take room away: such weeks are left out.
    assume(not problem.fished and not problem.pinned and not any_rota(problem))
    event(f"{len(check_that_none_can_be_spared(problem, any_rota))} rules")


def test_where_only_one_thing_is_wrong_giving_up_any_rule_named_helps():
    problem = IMPOSSIBLE["six rods, but only five places they may wade"]
    told = conflict(problem, possible)
    assert told == [
        *(f"Rod {key} fishes this week" for key in "abcdef"),
        *(f"Rod {key} may wade grade 1 at most" for key in "abcdef"),
        *(f"Pool {key} holds 1" for key in "uvwxy"),
    ]
    lifted = {text: without(problem) for text, without in _rules(problem)}
    assert [text for text in lifted if possible(lifted[text])] == told


def test_the_refusal_names_the_rules_and_says_what_to_do():
    problem = IMPOSSIBLE["pinned apart, kept together"]
    refuse_hopeless(problem)
    with pytest.raises(NoRota) as no:
        solve(problem)
    assert no.value.sentence == (
        "On Monday 4 May these cannot all be kept: Rod a and Rod b fish this week; Rod a and Rod b stay together; "
        "Rod a is pinned to Pool x, Monday 4 May, am; Rod b is kept off Pool x, Monday 4 May, am; "
        "no rod stays on a pool for two turns. Give up one of them."
    )


def test_a_bar_on_somebody_who_is_not_out_is_no_part_of_a_conflict():
    gone = frozenset({Step(MON, "am", "gone home", "x"), Step(MON, "am", "a", "a pool given up")})
    problem = IMPOSSIBLE["together on pools for one"]
    both = replace(problem, barred=gone, apart=frozenset({("a", "gone home")}))
    assert conflict(both, possible) == conflict(problem, possible)


def test_rules_of_a_kind_are_told_in_one_breath():
    told = ["Anna fishes this week", "Ben fishes this week", "2 boats", "Sand holds 1", "Oak holds 1"]
    assert gathered(told) == [
        "Anna and Ben fish this week", "2 boats", "Sand and Oak hold 1 each",
    ]  # fmt: skip


def test_a_week_in_which_one_day_cannot_be_done_is_told_by_that_day():
    day = {(TUE, part, key): "too high" for part in ("am", "pm") for key in "wxy"}
    problem = week("ab", "wxyz", closed={at: why for at, why in day.items() if at[1:] != ("am", "y")})
    with pytest.raises(NoRota) as no:
        refuse_conflict(problem, possible)
    assert no.value.sentence.startswith(
        "On Tuesday 5 May these cannot all be kept: Rod a and Rod b fish this week; "
    )
