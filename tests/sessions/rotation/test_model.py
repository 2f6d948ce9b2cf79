"""The worked-out rota against every rota there is."""

from dataclasses import replace

import pytest
from hypothesis import event, given, settings

from sessions.rotation import NoRota
from sessions.rotation.grid import Grid
from sessions.rotation.problem import Discounts, Goal, Policy, Step
from sessions.rotation.solve import MODELLED, solve
from tests.sessions.rotation.strategies import LITTLE, weeks
from tests.sessions.rotation.weeks import MON, TUE, WEEK, every_rota, place, rod, week


def best(problem):
    """The best ranking of all rotas, or None when no rota keeps the rules."""
    grid = Grid(problem)
    return min((grid.ranking(grid.cells_of(steps)) for steps in every_rota(problem)), default=None)


def ranked(problem, answer):
    grid = Grid(problem)
    return grid.ranking(grid.cells_of(answer.steps))


def settled(problem):
    """How many goals the solver proves: those it has in its model come first in both policies."""
    return sum(goal in MODELLED for goal in problem.goals)


def check_against_all(problem):
    """What a solve must be, by the best of all rotas; the answer for more to be said of it."""
    expected = best(problem)
    if expected is None:
        with pytest.raises(NoRota):
            solve(problem, tries=200)
        return None
    answer = solve(problem, tries=200)
    count = settled(problem)
    assert ranked(problem, answer)[:count] == expected[:count]
    assert all(reached.proven for reached in answer.reached[:count])
    proven = next((n for n, reached in enumerate(answer.reached) if not reached.proven), len(expected))
    assert ranked(problem, answer)[:proven] == expected[:proven]
    return answer


def turns(*told):
    """Turns from a few words each: "MON am a x"."""
    days = {"MON": MON, "TUE": TUE}
    return frozenset(Step(days[day], *rest) for day, *rest in (text.split() for text in told))


BASE = week([rod(key, WEEK[:2]) for key in "ab"], [place(key, n, 16 - 5 * n) for n, key in enumerate("xyz")])
WET = replace(BASE, places=(*BASE.places, place("b", 3, 19, boat=True), place("g", 4, 18, ghillie=True)))
SMALL = {
    "two rods, three pools": BASE,
    "as many pools as rods and parts": week("abc", "xyz", ("am",), discounts=Discounts(0, 0, 0)),
    "a late comer": replace(BASE, rods=(rod("a", WEEK[:3]), rod("b", [TUE])), parts=("am",)),
    "a weak wader": replace(
        BASE, rods=(rod("a"), rod("b", wading=1)), places=(place("h", 0, 20, wading=2), *BASE.places)
    ),
    "closed pools": replace(BASE, closed={(MON, "am", "x"): "resting", (TUE, "pm", "y"): "low"}),
    "one boat": replace(WET, boats=1),
    "one ghillie": replace(WET, ghillies=1),
    "a rod that needs a ghillie": replace(WET, rods=(rod("a", needs_ghillie=True), rod("b")), ghillies=1, boats=2),
    "kept together": replace(
        BASE, places=(*BASE.places, place("w", 4, 7, holds=2), place("v", 5, 2, holds=2)),
        together=frozenset({("a", "b")}),
    ),
    "kept apart": replace(BASE, places=(place("w", 0, 20, holds=2), *BASE.places), apart=frozenset({("a", "b")})),
    "pinned to the poorest": replace(BASE, pinned=turns("MON am a z", "TUE am a z")),
    "fished and stayed": replace(BASE, fished=turns("MON am a x", "MON pm a x")),
    "fished on a pool that has closed since": replace(
        BASE, fished=turns("MON am a x"), closed={(MON, "am", "x"): "too high", (MON, "pm", "x"): "too high"}
    ),
    "barred from the best": replace(BASE, barred=turns("MON am a x", "TUE am a x")),
    "no discounts": replace(BASE, discounts=Discounts(0, 0, 0)),
    "a third visit costs less than a second": replace(
        BASE, places=BASE.places[:2], discounts=Discounts(10, 60, 0), rods=(rod("a", WEEK[:3]), rod("b", WEEK[:3]))
    ),
    "worth so small at dusk that returning takes more than all": replace(
        BASE, places=tuple(replace(each, worth=100, worth_by_part={"am": 1, "pm": 2}) for each in BASE.places)
    ),
    "a rota to mend": replace(
        BASE, closed={(MON, "am", "x"): "low"},
        former=turns("MON am a x", "MON pm a y", "TUE am b y", "TUE am c z"),
    ),
}  # fmt: skip


@pytest.mark.parametrize("policy", Policy)
@pytest.mark.parametrize("name", SMALL)
def test_no_rota_there_is_beats_the_one_found(name, policy):
    assert check_against_all(replace(SMALL[name], policy=policy)) is not None


@settings(max_examples=80)
@given(weeks(LITTLE))
def test_no_rota_of_a_random_little_week_beats_the_one_found(problem):
    answer = check_against_all(problem)
    event("refused" if answer is None else "proven" if answer.proven else "best found")


def test_a_rota_is_called_proven_only_when_it_is_the_best_of_all():
    """Three alike pools for two rods: everything can be had at once, and is known to be."""
    problem = week([rod(key, [MON]) for key in "ab"], "xyz")
    answer = solve(problem)
    assert answer.proven
    assert ranked(problem, answer) == best(problem)


def test_what_is_reached_is_told_goal_by_goal():
    answer = solve(BASE)
    values = {each.goal: each.value for each in answer.reached}
    assert [each.goal for each in answer.reached] == list(BASE.goals)
    assert answer.repeats == values[Goal.REPEATS] == 2
    assert min(answer.worth.values()) == -values[Goal.WORST]
    assert answer.cut_short == ""
