"""What holds for any week: rules, names, order, more water, and never worse than by hand."""

import random
from dataclasses import replace

from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from sessions.rotation import NoRota
from sessions.rotation.customs import greedy, one_pool_down
from sessions.rotation.problem import Discounts, Goal, Policy
from sessions.rotation.rules import broken
from sessions.rotation.scores import ranking, scores
from sessions.rotation.solve import solve
from tests.sessions.rotation.strategies import pools, weeks

SIZES = [(2, 4, 3, 2), (3, 5, 2, 2), (4, 6, 2, 2), (5, 7, 3, 1), (6, 8, 2, 2), (4, 5, 2, 3)]
SMALLER = [(2, 3, 2, 2), (3, 4, 2, 2), (4, 5, 2, 1)]
SOME = settings(max_examples=40)


def quick(problem):
    """An answer with little effort, or None when the week is refused with a sentence worth reading."""
    try:
        return solve(problem, effort=0.15, tries=150)
    except NoRota as no:
        sentence = no.sentence
    event("refused")
    assert any(each.name in sentence for each in problem.rods)
    assert sentence.endswith(".")
    return None


@SOME
@given(weeks(SIZES))
def test_every_rule_is_kept_or_the_cause_is_named(problem):
    answer = quick(problem)
    if answer:
        assert broken(problem, answer.steps) == []
        assert {each.goal: each.value for each in answer.reached} == {
            goal: value for goal, value in scores(problem, answer.steps).items() if goal in problem.goals
        }
        assert all(each.value >= each.bound for each in answer.reached)


@SOME
@given(weeks(SIZES))
def test_it_is_never_worse_than_the_simple_custom_and_the_greedy_one(problem):
    made = [make(problem) for make in (one_pool_down, greedy)]
    keep = [steps for steps in made if steps and not broken(problem, steps)]
    assume(keep)
    answer = solve(problem, effort=0.05, tries=50)
    assert ranking(problem, answer.steps) <= min(ranking(problem, steps) for steps in keep)


def renamed(problem, seed):
    """The same week: rods under other keys and in another order."""
    dice = random.Random(seed)
    fresh = [f"n{number}" for number in range(len(problem.rods))]
    dice.shuffle(fresh)
    key = {rod.key: other for rod, other in zip(problem.rods, fresh, strict=True)}

    def turns(steps):
        return frozenset(replace(step, rod=key[step.rod]) for step in steps)

    def pairs(those):
        return frozenset((key[a], key[b]) for a, b in those)

    rods = [replace(rod, key=key[rod.key], name=f"Angler {key[rod.key]}") for rod in problem.rods]
    dice.shuffle(rods)
    return replace(
        problem, rods=tuple(rods), fished=turns(problem.fished), pinned=turns(problem.pinned),
        barred=turns(problem.barred), former=turns(problem.former),
        together=pairs(problem.together), apart=pairs(problem.apart),
    )  # fmt: skip


def proven(answer):
    """The values that are proven with all before them proven too: no other rota can have them otherwise."""
    first_open = next((n for n, each in enumerate(answer.reached) if not each.proven), len(answer.reached))
    return [each.value for each in answer.reached[:first_open]]


@SOME
@given(weeks(SMALLER), st.integers(0, 99))
def test_other_names_and_another_order_change_no_proven_value(problem, seed):
    answer, other = quick(problem), quick(renamed(problem, seed))
    assert (answer is None) == (other is None)
    if answer:
        both = list(zip(proven(answer), proven(other), strict=False))
        event(f"{len(both)} goals proven in both")
        assert all(one == two for one, two in both)


@SOME
@given(weeks(SMALLER, plain=True), st.data())
def test_one_more_pool_never_takes_from_the_worst_off(week, data):
    problem = replace(week, policy=Policy.BEST_WATER, discounts=Discounts(0, 0, 0))
    more = replace(problem, places=(*problem.places, data.draw(pools(99, problem.parts, plain=True))))
    before = quick(problem)
    assume(before)
    after = quick(more)
    worst, better = (each.reached[0] for each in (before, after))
    assert worst.goal is better.goal is Goal.WORST
    assert better.bound <= worst.value
    if better.proven:
        assert -better.value >= -worst.value
