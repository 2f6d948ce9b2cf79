"""Which pools are fished when, before asking by whom.

What a week is worth depends on the water used, not on who uses it, and alike rods (same days, same
pools open to them) are as good as one another. So a small model decides how many rods of each kind
are on each pool in each part. It leaves out who goes with whom and what a rod's third visit costs, so
whatever it proves cannot be beaten by any rota: that is a bound. And a rota can be read off it: the
parts and pools of a kind form a bipartite graph in which every part meets as many edges as there are
rods, and by König's theorem its edges can be coloured with one colour a rod, no colour twice at a
pool. A colour is a rod's week.
"""

from collections import defaultdict
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Any

from ortools.sat.python import cp_model

from sessions.rotation.grid import Cells, Grid
from sessions.rotation.solver import run, whole_up

Edge = tuple[int, int]
"""(part, pool), as the grid numbers them."""
At = dict[tuple[str, int], dict[int, int]]
"""By end of an edge: which edge has which colour there."""


@dataclass(frozen=True)
class Shared:
    """What sharing the water out shows: no rota passes the bounds; `cells` is a rota to start from."""

    repeats: int
    worst: Fraction
    cells: Cells


def share_out(grid: Grid, *, effort: float, few_repeats: bool, seconds: float, linear: int = 2) -> Shared | None:
    """The most worth for the worst-off kind of rod; None where the effort settles nothing.

    `few_repeats` asks first for the fewest second visits, and keeps to those; without it they are free.
    `linear` is how much of it goes into the linear relaxation: nearly all of it is linear, so all of it.
    """
    model = _Sharing(grid, linear)
    fewest = 0
    if few_repeats:
        fewest = model.fewest_repeats(effort, seconds)
        model.model.add(model.repeats <= fewest)
    model.model.maximize(model.least)
    status, solver = model.run(effort, seconds)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    worst = Fraction(int(solver.best_objective_bound + 1e-6), 100 * grid.scale)
    return Shared(fewest, worst, model.cells(solver))


class _Sharing:
    """How many rods of a kind are on a pool in a part."""

    def __init__(self, grid: Grid, linear: int) -> None:
        self.grid, self.model, self.linear = grid, cp_model.CpModel(), linear
        alike: dict[object, list[int]] = defaultdict(list)
        for row, line in enumerate(grid.may):
            alike[tuple(map(tuple, line)), tuple(grid.led[row])].append(row)
        self.kinds = list(alike.values())
        self.count: dict[tuple[int, int, int], Any] = {}
        self.again: dict[tuple[int, int], Any] = {}
        for kind, rows in enumerate(self.kinds):
            self._kind(kind, rows)
        self._room()
        self.repeats = sum(self.again.values())
        self.least = self.model.new_int_var(-self._top(), self._top(), "")
        for kind, points in self._points().items():
            rows = self.kinds[kind]
            self.model.add(self.least * len(rows) <= grid.weight[rows[0]] * points)

    def _top(self) -> int:
        return 100 * self.grid.scale * max(max(line) for line in [*self.grid.worth, self.grid.base])

    def _kind(self, kind: int, rows: list[int]) -> None:
        """Every rod of the kind is somewhere in every part; a visit more than there are rods is a second one."""
        grid = self.grid
        out = [column for column, pools in enumerate(grid.may[rows[0]]) if pools]
        for column in out:
            pools = grid.may[rows[0]][column]
            for pool in pools:
                most = min(len(rows), grid.room[column][pool])
                self.count[kind, column, pool] = self.model.new_int_var(0, most, "")
            self.model.add(sum(self.count[kind, column, pool] for pool in pools) == len(rows))
        for pool in range(len(grid.places)):
            visits = [self.count[kind, c, pool] for c in out if (kind, c, pool) in self.count]
            if len(visits) > 1:
                self.again[kind, pool] = self.model.new_int_var(0, len(rows) * len(visits), "")
                self.model.add(sum(visits) <= len(rows) + self.again[kind, pool])
            for a, b in pairwise(out):
                if (kind, a, pool) in self.count and (kind, b, pool) in self.count:
                    settled = grid.fact[rows[0]][a] and grid.fact[rows[0]][b]
                    if not settled:  # else it has stayed there already
                        both = self.count[kind, a, pool] + self.count[kind, b, pool]
                        self.model.add(both <= len(rows))

    def _room(self) -> None:
        grid = self.grid
        at: dict[Edge, list[Any]] = defaultdict(list)
        afloat: dict[int, list[Any]] = defaultdict(list)
        led: dict[int, list[Any]] = defaultdict(list)
        for (kind, column, pool), many in self.count.items():
            at[column, pool].append(many)
            if grid.afloat[pool]:
                afloat[column].append(many)
            if grid.led[self.kinds[kind][0]][pool]:
                led[column].append(many)
        for (column, pool), manys in at.items():
            self.model.add(sum(manys) <= grid.room[column][pool])
        for column, manys in afloat.items():
            self.model.add(sum(manys) <= grid.boats[column])
        for column, manys in led.items():
            self.model.add(sum(manys) <= grid.ghillies[column])

    def _points(self) -> dict[int, Any]:
        """Points by kind: second-hand worth for every turn, and the rest where the water is fresh.

        Where a pool holds one rod, nobody has it fresh who comes after another that day; where it holds
        more, the model may still call a share of it fresh, which is never less.
        """
        grid, second_hand = self.grid, self.grid.cuts[0]
        terms: dict[int, list[Any]] = defaultdict(list)
        at: dict[Edge, list[Any]] = defaultdict(list)
        fresh_at: dict[Edge, list[Any]] = defaultdict(list)
        for (kind, column, pool), many in self.count.items():
            most = min(len(self.kinds[kind]), grid.room[column][pool])
            fresh = self.model.new_int_var(0, most, "")
            self.model.add(fresh <= many)
            worth = grid.worth[column][pool]
            terms[kind] += [worth * (100 - second_hand) * many, worth * second_hand * fresh]
            at[column, pool].append(many)
            fresh_at[column, pool].append(fresh)
        for (column, pool), freshes in fresh_at.items():
            room = grid.room[column][pool]
            for earlier in grid.columns_of[grid.day_of[column]]:
                if earlier < column and (earlier, pool) in at:
                    before = grid.room[earlier][pool]
                    self.model.add(before * sum(freshes) + room * sum(at[earlier, pool]) <= before * room)
        for (kind, pool), many in self.again.items():
            terms[kind].append(-grid.base[pool] * min(grid.cuts[1:]) * many)
        return {kind: sum(parts) for kind, parts in terms.items()}

    def fewest_repeats(self, effort: float, seconds: float) -> int:
        """No rota has fewer second visits."""
        self.model.minimize(self.repeats)
        status, solver = self.run(effort, seconds)
        settled = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        return max(0, whole_up(solver.best_objective_bound)) if settled else 0

    def run(self, effort: float, seconds: float) -> tuple[Any, cp_model.CpSolver]:
        return run(self.model, effort=effort, seconds=seconds, linear=self.linear)

    def cells(self, solver: cp_model.CpSolver) -> Cells:
        """A rota read off the shares; it may still break a rule the model leaves out."""
        grid = self.grid
        cells = [[-1] * len(grid.slots) for _ in grid.rods]
        for kind, rows in enumerate(self.kinds):
            used = [
                (column, pool)
                for (k, column, pool), many in self.count.items()
                if k == kind
                for _ in range(solver.value(many))
            ]
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
