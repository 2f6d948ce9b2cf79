"""Sharing the water out: its bounds hold for every rota there is, and a rota can be read off it."""

from dataclasses import replace
from fractions import Fraction

from hypothesis import assume, event, given, settings
from hypothesis import strategies as st

from sessions.rotation.grid import Grid
from sessions.rotation.levelling import level
from sessions.rotation.problem import Goal, Policy
from sessions.rotation.rules import broken
from sessions.rotation.scores import scores
from sessions.rotation.sharing import coloured, share_out
from tests.sessions.rotation.strategies import LITTLE, weeks
from tests.sessions.rotation.weeks import WEEK, every_rota, place, rod, week


@settings(max_examples=40)
@given(weeks(LITTLE))
def test_no_rota_there_is_passes_what_sharing_shows(problem):
    found = [scores(problem, steps) for steps in every_rota(problem)]
    assume(found)
    few = share_out(Grid(problem), effort=1.0, few_repeats=True, seconds=20)
    free = share_out(Grid(problem), effort=1.0, few_repeats=False, seconds=20)
    least = min(each[Goal.REPEATS] for each in found)
    assert few.repeats <= least
    assert max(-each[Goal.WORST] for each in found) <= free.worst
    if few.repeats == least:
        event("the fewest second visits are known")
        assert max(-each[Goal.WORST] for each in found if each[Goal.REPEATS] == least) <= few.worst


def test_alike_rods_on_uneven_water_meet_the_bound_at_once():
    """Four rods, eight pools, four days: everybody can have every pool once, all of it fresh."""
    problem = week([rod(key, WEEK[:4]) for key in "abcd"], [place(f"p{n}", n, 3 + 2 * n) for n in range(8)])
    grid = Grid(problem)
    shared = share_out(grid, effort=1.0, few_repeats=True, seconds=20)
    assert shared.worst == Fraction(sum(3 + 2 * n for n in range(8)), 8)
    steps = grid.steps_of(shared.cells)
    assert broken(problem, steps) == []
    assert scores(problem, steps)[Goal.REPEATS] == shared.repeats == 0


@given(st.data())
def test_colours_meet_no_part_and_no_pool_twice(data):
    """König (1916): a bipartite graph needs no more colours than its busiest end has edges."""
    pairs = st.tuples(st.integers(0, 6), st.integers(0, 8))
    edges = data.draw(st.lists(pairs, min_size=1, max_size=40, unique=True))
    ends = [("part", part) for part, _ in edges] + [("pool", pool) for _, pool in edges]
    needed = max(ends.count(end) for end in ends)
    found = coloured(edges, needed)
    assert [edge for _, edge in found] == edges
    assert {colour for colour, _ in found} <= set(range(needed))
    assert len({(colour, part) for colour, (part, _) in found}) == len(edges)
    assert len({(colour, pool) for colour, (_, pool) in found}) == len(edges)


UNEVEN = week(
    [rod(key, WEEK[:4], wading=n % 3 + 1) for n, key in enumerate("abcd")],
    [place(f"p{n}", n, 3 + 2 * n, wading=n % 3) for n in range(9)],
)


def test_levelling_brings_the_rods_nearer_to_the_bound_and_keeps_the_rules():
    for policy in Policy:
        problem = replace(UNEVEN, policy=policy)
        grid = Grid(problem)
        shared = share_out(grid, effort=1.0, few_repeats=policy is Policy.ALL_THE_WATER, seconds=20)
        start = shared.cells
        target = int(shared.worst * 100 * grid.scale)
        found = level(grid, start, target=target, tries=4000, seed=1)
        assert found == level(grid, start, target=target, tries=4000, seed=1)
        assert broken(problem, grid.steps_of(found)) == []
        was, now = (scores(problem, grid.steps_of(cells))[Goal.WORST] for cells in (start, found))
        assert -shared.worst <= now <= was
