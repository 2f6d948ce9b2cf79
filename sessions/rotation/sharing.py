"""Which pools are fished when, before asking by whom.

What a week is worth depends on the water used, not on who uses it, and alike rods (same days, same
grading) are as good as one another. So a small model decides how many rods of each kind are on each
pool in each part; a rota is then read off it exactly: the parts and pools of a kind form a bipartite
graph in which every part meets as many edges as there are rods, and by König's theorem its edges can
be coloured with one colour a rod, no colour twice at a pool. A colour is a rod's week.
"""

from collections import defaultdict
from itertools import pairwise
from typing import Any

from ortools.sat.python import cp_model

from sessions.rotation.bounds import least_repeats
from sessions.rotation.grid import Cells, Grid
from sessions.rotation.problem import Problem

SEED = 20_141
MOST_KINDS = 4
Edge = tuple[int, int]
"""(part, pool), as the grid numbers them."""
At = dict[tuple[str, int], dict[int, int]]
"""By end of an edge: which edge has which colour there."""


def shared_out(problem: Problem, grid: Grid, *, effort: float) -> Cells | None:
    """A rota with the water shared out as well as the small model finds; None where it does not fit.

    It looks for the fewest second visits, and with them for the most worth for the worst-off kind of
    rod. It does not know pins, boats, ghillies or parties: where those matter it declines.
    """
    if problem.pinned or problem.barred or problem.together or problem.apart:
        return None
    if any(place.boat or place.ghillie for place in problem.places) or any(
        rod.needs_ghillie for rod in problem.rods
    ):
        return None
    kinds: dict[tuple[object, int], list[int]] = defaultdict(list)
    for row, rod in enumerate(grid.rods):
        kinds[rod.days, rod.wading].append(row)
    if len(kinds) > MOST_KINDS:
        return None
    edges = _edges(grid, list(kinds.values()), effort, second_visits=least_repeats(problem))
    if edges is None:
        return None
    cells = [[-1] * len(grid.slots) for _ in grid.rods]
    for rows, used in zip(kinds.values(), edges, strict=True):
        for colour, (column, pool) in coloured(_apart(used, len(rows), len(grid.places)), len(rows)):
            cells[rows[colour]][column] = pool % len(grid.places)
    return cells


def _apart(edges: list[Edge], most: int, places: int) -> list[Edge]:
    """A pool with more visits than rods stands twice in the graph: its second visits are apart."""
    met: dict[int, int] = defaultdict(int)
    made = []
    for column, pool in edges:
        made.append((column, pool + places * (met[pool] // most)))
        met[pool] += 1
    return made


def _edges(grid: Grid, kinds: list[list[int]], effort: float, *, second_visits: int) -> list[list[Edge]] | None:
    model = cp_model.CpModel()
    count: dict[tuple[int, int, int], Any] = {}
    again: dict[tuple[int, int], Any] = {}
    for kind, rows in enumerate(kinds):
        for column, pools in enumerate(grid.may[rows[0]]):
            for pool in pools:
                count[kind, column, pool] = model.new_int_var(0, min(len(rows), grid.holds[pool]), "")
            if pools:
                model.add(sum(count[kind, column, pool] for pool in pools) == len(rows))
        for pool in range(len(grid.places)):
            visits = [count[kind, c, pool] for c in range(len(grid.slots)) if (kind, c, pool) in count]
            if visits:
                again[kind, pool] = model.new_int_var(0, second_visits, "")
                model.add(sum(visits) <= len(rows) + again[kind, pool])
            for a, b in pairwise(c for c in range(len(grid.slots)) if (kind, c, pool) in count):
                model.add(count[kind, a, pool] + count[kind, b, pool] <= len(rows))
    model.add(sum(again.values()) <= second_visits)
    least = model.new_int_var(0, 100 * grid.scale * max(max(line) for line in grid.worth), "")
    for kind, points in _points(model, grid, count).items():
        rows = kinds[kind]
        lost = sum(grid.base[pool] * grid.cuts[1] * many for (k, pool), many in again.items() if k == kind)
        model.add(least * len(rows) <= grid.weight[rows[0]] * (points - lost))
    model.maximize(least)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_deterministic_time = effort
    solver.parameters.catch_sigint_signal = False
    solver.parameters.linearization_level = 2  # nearly all of it is linear: the relaxation finds it at once
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return [
        [(c, pool) for (k, c, pool), many in count.items() if k == kind for _ in range(solver.value(many))]
        for kind in range(len(kinds))
    ]


def _points(model: cp_model.CpModel, grid: Grid, count: dict[tuple[int, int, int], Any]) -> dict[int, Any]:
    """Points by kind: second-hand worth for every turn, and the rest where the water is fresh.

    A pool is fresh once a day for as many rods as it holds. Which kind has it so depends on who comes
    first; the model lets any kind that comes that day have it, and the moves made later settle it.
    """
    second_hand = grid.cuts[0]
    terms: dict[int, list[Any]] = defaultdict(list)
    in_day: dict[tuple[int, int, int], list[Any]] = defaultdict(list)
    at_once: dict[Edge, list[Any]] = defaultdict(list)
    for (kind, column, pool), many in count.items():
        terms[kind].append(grid.worth[column][pool] * (100 - second_hand) * many)
        in_day[kind, grid.day_of[column], pool].append(many)
        at_once[column, pool].append(many)
    for (_, pool), manys in at_once.items():
        model.add(sum(manys) <= grid.holds[pool])
    fresh_of: dict[tuple[int, int], list[Any]] = defaultdict(list)
    for (kind, day, pool), manys in in_day.items():
        fresh = model.new_int_var(0, grid.holds[pool], "")
        model.add(fresh <= sum(manys))
        terms[kind].append(grid.base[pool] * second_hand * fresh)
        fresh_of[day, pool].append(fresh)
    for (_, pool), freshes in fresh_of.items():
        model.add(sum(freshes) <= grid.holds[pool])
    return {kind: sum(parts) for kind, parts in terms.items()}


def coloured(edges: list[Edge], colours: int) -> list[tuple[int, Edge]]:
    """Every edge with a colour, so that no part and no pool meets a colour twice.

    Needs at most `colours` edges at each part and pool. One edge after another; where the colour free
    at its part is taken at its pool, the path of those two colours is turned over (König, 1916).
    """
    at: At = defaultdict(dict)
    colour_of: dict[int, int] = {}
    for number, (column, pool) in enumerate(edges):
        part_end, pool_end = ("part", column), ("pool", pool)
        a = next(colour for colour in range(colours) if colour not in at[part_end])
        b = next(colour for colour in range(colours) if colour not in at[pool_end])
        if a != b:
            _turn_over(edges, at, colour_of, end=pool_end, a=a, b=b)
        colour_of[number] = a
        at[part_end][a] = at[pool_end][a] = number
    return [(colour_of[number], edge) for number, edge in enumerate(edges)]


def _turn_over(
    edges: list[Edge], at: At, colour_of: dict[int, int], *, end: tuple[str, int], a: int, b: int
) -> None:
    """Exchange colours a and b along the path that begins at `end` with a, so that a is free there."""
    path: list[int] = []
    here, wanted = end, a
    while wanted in at[here]:
        number = at[here][wanted]
        path.append(number)
        column, pool = edges[number]
        here = ("pool", pool) if here == ("part", column) else ("part", column)
        wanted = b if wanted == a else a
    for number in path:
        column, pool = edges[number]
        for node in (("part", column), ("pool", pool)):
            at[node].pop(colour_of[number], None)
    for number in path:
        colour_of[number] = b if colour_of[number] == a else a
        column, pool = edges[number]
        for node in (("part", column), ("pool", pool)):
            at[node][colour_of[number]] = number
