"""A rota moved about is counted as the grid counts it from scratch, and comes back whole."""

from hypothesis import given, settings
from hypothesis import strategies as st

from sessions.rotation import Step
from sessions.rotation.grid import Grid
from sessions.rotation.standing import Standing
from tests.sessions.rotation.strategies import LITTLE, weeks
from tests.sessions.rotation.weeks import MON, place, rod, rota, week

LARGER = [(4, 6, 3, 2), (5, 7, 2, 3), (6, 4, 3, 1)]


def counted(standing):
    return tuple(standing.value(goal) for goal in standing.grid.goals)


def known(standing):
    return [line[:] for line in standing.cells], standing.first, standing.here, standing.lines


@settings(max_examples=40)
@given(weeks(LITTLE + LARGER), st.data())
def test_moves_are_counted_as_from_scratch(problem, data):
    grid = Grid(problem)
    pool = st.sampled_from([place.key for place in problem.places])
    steps = [Step(*slot, rod.key, data.draw(pool)) for rod in problem.rods for slot in problem.slots_of(rod)]
    standing = Standing(grid, grid.cells_of(steps))
    out = [(r, c) for r, line in enumerate(standing.cells) for c, stands in enumerate(line) if stands >= 0]
    for _ in range(4):
        moved = data.draw(st.lists(st.sampled_from(out), min_size=1, max_size=4, unique=True))
        standing.put([(row, column, data.draw(st.integers(0, len(grid.places) - 1))) for row, column in moved])
        fresh = Standing(grid, standing.cells)
        assert known(standing) == known(fresh)
        assert counted(standing) == grid.ranking(standing.cells)


@settings(max_examples=40)
@given(weeks(LARGER), st.data())
def test_a_move_taken_back_leaves_no_trace(problem, data):
    grid = Grid(problem)
    steps = [Step(*slot, rod.key, problem.places[0].key) for rod in problem.rods for slot in problem.slots_of(rod)]
    standing = Standing(grid, grid.cells_of(steps))
    before = known(Standing(grid, standing.cells))
    out = [(r, c) for r, line in enumerate(standing.cells) for c, stands in enumerate(line) if stands >= 0]
    moved = data.draw(st.lists(st.sampled_from(out), min_size=1, max_size=5, unique=True))
    standing.put([(row, column, data.draw(st.integers(0, len(grid.places) - 1))) for row, column in moved])
    standing.back()
    assert known(standing) == before


def test_what_the_rods_lack_of_a_worth_is_squared_and_summed():
    problem = week([rod("a", [MON]), rod("b", [MON])], [place("x", 0, 10), place("y", 1, 4), place("z", 2, 4)])
    grid = Grid(problem)
    standing = Standing(grid, grid.cells_of(rota(problem, a="xy", b="zx")))
    # a: 10 + 4; b: 4 + 10 less 30 percent for second-hand water; in hundredths.
    assert [line.points for line in standing.lines] == [1400, 1100]
    assert standing.short_of(1300) == 200**2
    assert standing.worst_off() == 1
