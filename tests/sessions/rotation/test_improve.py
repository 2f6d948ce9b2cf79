"""Moves: never worse, never against a rule, the same on any machine."""

from dataclasses import replace

from hypothesis import assume, given, settings

from sessions.rotation.customs import greedy, one_pool_down
from sessions.rotation.designs import square_rota
from sessions.rotation.grid import Grid
from sessions.rotation.improve import improve
from sessions.rotation.problem import Policy
from sessions.rotation.rules import broken
from tests.sessions.rotation.strategies import LITTLE, weeks
from tests.sessions.rotation.weeks import MON, WED, WEEK, place, rod, rota, week

SIZES = [*LITTLE, (4, 6, 2, 2), (3, 5, 3, 1)]
UNEVEN = week([rod(key, WEEK[:3]) for key in "abc"], [place(key, n, 3 + 5 * n) for n, key in enumerate("uvwxyz")])


def start(problem):
    """A rota made without searching, as numbers."""
    made = [make(problem) for make in (one_pool_down, greedy)]
    keep = [steps for steps in made if steps and not broken(problem, steps)]
    grid = Grid(problem)
    return grid, grid.cells_of(keep[0]) if keep else None


@settings(max_examples=50)
@given(weeks(SIZES))
def test_moves_never_make_it_worse_nor_break_a_rule_nor_move_a_pin(problem):
    grid, cells = start(problem)
    assume(cells)
    before = [line[:] for line in cells]
    better = improve(grid, cells, tries=120, seed=1)
    assert cells == before  # the start is left as it was
    assert grid.ranking(better) <= grid.ranking(cells)
    assert broken(problem, grid.steps_of(better)) == []
    assert problem.fished | problem.pinned <= set(grid.steps_of(better))


def test_moves_find_what_the_simple_custom_leaves():
    grid, cells = start(UNEVEN)
    better = improve(grid, cells, tries=3000, seed=1)
    assert grid.ranking(better) < grid.ranking(cells)


def test_a_pinned_turn_never_moves_though_it_costs():
    steps = one_pool_down(UNEVEN)
    problem = replace(UNEVEN, pinned=frozenset(step for step in steps if step.rod == "a"))
    grid, cells = start(problem)
    better = improve(grid, cells, tries=3000, seed=1)
    assert better[0] == cells[0]
    assert better[1:] != cells[1:]


def test_the_same_seed_gives_the_same_end_and_another_seed_another():
    grid, cells = start(UNEVEN)
    ends = [improve(grid, cells, tries=400, seed=seed) for seed in (1, 1, 2, 3)]
    assert ends[0] == ends[1]
    assert ends[0] not in ends[2:]


def test_it_stops_when_told_and_asks_now_and_then():
    grid, cells = start(UNEVEN)
    asked = []
    assert improve(grid, cells, tries=9000, seed=1, stop=lambda: True) == cells
    improve(grid, cells, tries=2000, seed=1, stop=lambda: bool(asked.append(1)))
    assert len(asked) == 4


def test_a_rod_does_not_stay_on_its_pool_over_a_day_at_home():
    """Its next turn is two days later, though in the grid other rods' parts lie between."""
    rods = [rod("a", [MON, WED]), rod("b", WEEK[:3]), rod("c", [MON, WED])]
    problem = week(
        rods, [place(key, n, 9 * n + 1) for n, key in enumerate("wxyz")], ("am",), policy=Policy.BEST_WATER
    )
    steps = rota(problem, a="w-x", b="xyw", c="y-z")
    grid = Grid(problem)
    for seed in range(20):
        better = improve(grid, grid.cells_of(steps), tries=200, seed=seed)
        assert broken(problem, grid.steps_of(better)) == []


def test_a_balanced_square_stays_balanced():
    problem = week("abcd", "wxyz")
    grid = Grid(problem)
    cells = grid.cells_of(square_rota(problem))
    better = grid.ranking(improve(grid, cells, tries=2000, seed=1))
    assert better[:3] == grid.ranking(cells)[:3] == (0, -(2 * 100 + 2 * 70) * 10, 0)
