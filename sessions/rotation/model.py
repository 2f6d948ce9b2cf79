"""The rota as a CP-SAT model: a yes or no for every rod, part and pool."""

from itertools import pairwise
from typing import Any

from ortools.sat.python import cp_model

from sessions.rotation.grid import Cells, Grid
from sessions.rotation.problem import Goal, Problem
from sessions.rotation.solver import run

Key = tuple[int, int, int]
"""(rod, part, pool), as the grid numbers them."""


class Model:
    """The model of a problem, and the goals it can be asked for. Hard rules are in from the start."""

    def __init__(self, problem: Problem, grid: Grid) -> None:
        self.problem, self.grid = problem, grid
        self.model = cp_model.CpModel()
        self.at: dict[Key, Any] = {
            (row, column, pool): self.model.new_bool_var("")
            for row, line in enumerate(grid.may)
            for column, pools in enumerate(line)
            for pool in pools
        }
        self.columns = [
            [c for c, pools in enumerate(line) if grid.day_of[c] in self._days(row)]
            for row, line in enumerate(grid.may)
        ]
        self._hard_rules()
        self._over: dict[tuple[int, int], tuple[Any, Any]] | None = None
        self._visits: dict[tuple[int, int], Any] = {}
        self._worth: tuple[Any, Any] | None = None

    def _days(self, row: int) -> set[int]:
        return {self.problem.days.index(day) for day in self.grid.rods[row].days}

    def _hard_rules(self) -> None:
        for row, columns in enumerate(self.columns):
            for column in columns:
                self.model.add_exactly_one(self.at[row, column, pool] for pool in self.grid.may[row][column])
            for a, b in pairwise(columns):
                for pool in self.grid.may_set[row][a] & self.grid.may_set[row][b]:
                    if not (self.grid.fact[row][a] and self.grid.fact[row][b]):
                        self.model.add_at_most_one(self.at[row, a, pool], self.at[row, b, pool])
        for column, slot in enumerate(self.grid.slots):
            self._room(column, slot)
        self._company()

    def _room(self, column: int, slot: Any) -> None:
        afloat, led = [], []
        for pool, place in enumerate(self.grid.places):
            here = self.on(column, pool)
            holds = self.problem.room_on(slot, place)
            if len(here) > holds:
                self.model.add(sum(here) <= holds)
            afloat += here if place.boat else []
            led += here if place.ghillie else []
        led += [
            self.at[row, column, pool]
            for row, rod in enumerate(self.grid.rods)
            if rod.needs_ghillie
            for pool in self.grid.may[row][column]
            if not self.grid.places[pool].ghillie
        ]
        for many, free in ((afloat, self.problem.boats_at(slot)), (led, self.problem.ghillies_at(slot))):
            if len(many) > free:
                self.model.add(sum(many) <= free)

    def _company(self) -> None:
        rows = {rod.key: row for row, rod in enumerate(self.grid.rods)}
        for column in range(len(self.grid.slots)):
            for pairs, together in ((self.problem.together, True), (self.problem.apart, False)):
                for first, second in sorted(pairs):
                    if rows.keys() >= {first, second}:
                        self._pair(rows[first], rows[second], column, together=together)

    def _pair(self, a: int, b: int, column: int, *, together: bool) -> None:
        if not (self.grid.may[a][column] and self.grid.may[b][column]):
            return
        if self.grid.fact[a][column] and self.grid.fact[b][column]:
            return
        for pool in range(len(self.grid.places)):
            one, other = self.at.get((a, column, pool)), self.at.get((b, column, pool))
            if one is not None and other is not None:
                if together:
                    self.model.add(one == other)
                else:
                    self.model.add_at_most_one(one, other)
            elif together and (one is not None or other is not None):
                self.model.add((one if one is not None else other) == 0)

    def on(self, column: int, pool: int) -> list[Any]:
        """Who may be on a pool in a part."""
        return [self.at[row, column, pool] for row in range(len(self.grid.rods)) if (row, column, pool) in self.at]

    def over(self) -> dict[tuple[int, int], tuple[Any, Any]]:
        """For each rod and pool: visits beyond the first, and beyond the second."""
        if self._over is None:
            self._over = {}
            for row, columns in enumerate(self.columns):
                for pool in range(len(self.grid.places)):
                    visits = [self.at[row, c, pool] for c in columns if (row, c, pool) in self.at]
                    if len(visits) > 1:
                        one = self.model.new_int_var(0, len(visits) - 1, "")
                        two = self.model.new_int_var(0, max(len(visits) - 2, 0), "")
                        self.model.add(one >= sum(visits) - 1)
                        self.model.add(two >= sum(visits) - 2)
                        self._over[row, pool] = (one, two)
                        self._visits[row, pool] = sum(visits)
        return self._over

    def _count_exactly(self) -> None:
        """Visits not only at least but exactly, else the best-off rod could be made to look worse off."""
        for key, (one, two) in self.over().items():
            self.model.add_max_equality(one, [self._visits[key] - 1, 0])
            self.model.add_max_equality(two, [self._visits[key] - 2, 0])

    def worth(self) -> tuple[Any, Any]:
        """The worst-off and the best-off rod's points, scaled as the grid scales them."""
        if self._worth is None:
            top = 100 * self.grid.scale * max(*self.grid.base, *(max(line) for line in self.grid.worth))
            least = self.model.new_int_var(-top, top, "least")
            most = self.model.new_int_var(-top, top, "most")
            points = self._points()
            for row, weight in enumerate(self.grid.weight):
                self.model.add(least <= weight * points[row])
                self.model.add(most >= weight * points[row])
            self._worth = (least, most)
        return self._worth

    def _points(self) -> list[Any]:
        """Each rod's worth times 100: turns at second-hand worth, a bonus where the water is fresh."""
        second_hand, second, later = self.grid.cuts
        if later < second:
            self._count_exactly()  # else a third visit that was never made would give worth back
        fresh = self._fresh()
        points: list[list[Any]] = [[] for _ in self.grid.rods]
        for (row, column, pool), here in self.at.items():
            worth = self.grid.worth[column][pool]
            points[row].append(worth * (100 - second_hand) * here)
            points[row].append(worth * second_hand * fresh[row, column, pool])
        for (row, pool), (one, two) in self.over().items():
            points[row].append(-self.grid.base[pool] * (second * one + (later - second) * two))
        return [sum(terms) for terms in points]

    def _fresh(self) -> dict[Key, Any]:
        """Whether a turn is on a pool nobody fished earlier that day."""
        used: dict[tuple[int, int], Any] = {}
        for column in range(len(self.grid.slots)):
            for pool in range(len(self.grid.places)):
                here = self.on(column, pool)
                if here:
                    used[column, pool] = self.model.new_bool_var("")
                    self.model.add_max_equality(used[column, pool], here)
        fresh: dict[Key, Any] = {}
        for (row, column, pool), here in self.at.items():
            earlier = [
                used[c, pool]
                for c in range(column)
                if self.grid.day_of[c] == self.grid.day_of[column] and (c, pool) in used
            ]
            if not earlier:
                fresh[row, column, pool] = here
                continue
            first = self.model.new_bool_var("")
            self.model.add_implication(first, here)
            for before in earlier:
                self.model.add_implication(first, before.Not())
            self.model.add_bool_or([first, here.Not(), *earlier])
            fresh[row, column, pool] = first
        return fresh

    def expression(self, goal: Goal) -> Any:
        """What is to be made small for a goal; only the goals the model knows."""
        if goal is Goal.CHANGES:
            kept = [
                self.at.get((row, column, pool))
                for row, line in enumerate(self.grid.former)
                for column, pool in enumerate(line)
                if pool >= 0
            ]
            return self.grid.lost + len(kept) - sum(turn for turn in kept if turn is not None)
        if goal is Goal.REPEATS:
            return sum(one for one, _ in self.over().values())
        least, most = self.worth()
        if goal is Goal.WORST:
            return -least
        self._count_exactly()
        return most - least

    def hint(self, cells: Cells) -> None:
        self.model.clear_hints()  # type: ignore[no-untyped-call]
        for (row, column, pool), here in self.at.items():
            self.model.add_hint(here, cells[row][column] == pool)

    def run(self, *, effort: float, seconds: float) -> tuple[Any, cp_model.CpSolver]:
        return run(self.model, effort=effort, seconds=seconds)

    def cells(self, solver: cp_model.CpSolver) -> Cells:
        cells = [[-1] * len(self.grid.slots) for _ in self.grid.rods]
        for (row, column, pool), here in self.at.items():
            if solver.boolean_value(here):
                cells[row][column] = pool
        return cells
