"""The fast ranking against the plain one, on rotas good and bad."""

from hypothesis import given, settings
from hypothesis import strategies as st

from sessions.rotation import Step
from sessions.rotation.grid import Grid
from sessions.rotation.problem import Goal
from sessions.rotation.scores import ranking
from tests.sessions.rotation.strategies import LITTLE, weeks
from tests.sessions.rotation.weeks import TUE, rod, rota, week

LARGER = [(4, 6, 3, 2), (5, 7, 2, 3), (6, 4, 3, 1)]


def scaled(problem, grid, values):
    """The plain values in the grid's whole numbers."""
    hundredths = {Goal.WORST: 100 * grid.scale, Goal.SPREAD: 100 * grid.scale, Goal.FIRST: grid.scale}
    return tuple(value * hundredths.get(goal, 1) for goal, value in zip(problem.goals, values, strict=True))


@settings(max_examples=50)
@given(weeks(LITTLE + LARGER), st.data())
def test_the_fast_ranking_is_the_plain_one(problem, data):
    """Any turns at all, whatever the rules: both only count."""
    pool = st.sampled_from([place.key for place in problem.places])
    steps = [Step(*slot, rod.key, data.draw(pool)) for rod in problem.rods for slot in problem.slots_of(rod)]
    grid = Grid(problem)
    assert grid.ranking(grid.cells_of(steps)) == scaled(problem, grid, ranking(problem, steps))


def test_turns_go_into_the_grid_and_come_out_again():
    problem = week([rod("a"), rod("b", [TUE])], "xyz")
    steps = rota(problem, a="xy zx", b="-- yz")
    grid = Grid(problem)
    assert grid.cells_of(steps) == [[0, 1, 2, 0], [-1, -1, 1, 2]]
    assert set(grid.steps_of(grid.cells_of(steps))) == set(steps)


def test_a_former_turn_of_somebody_who_left_is_a_change_in_both_countings():
    problem = week("ab", "xyz")
    steps = rota(problem, a="xy zx", b="yx xy")
    gone = {Step(TUE, "am", "c", "x"), Step(TUE, "am", "a", "a pool given up")}
    mended = week("ab", "xyz", former=frozenset({*steps, *gone}))
    grid = Grid(mended)
    assert ranking(mended, steps)[0] == grid.ranking(grid.cells_of(steps))[0] == 2
