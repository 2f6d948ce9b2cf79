"""A rota as it stands while it is moved about: every move judged by what it touches.

It gives the same ranking as the grid does from scratch (a test compares them); a move costs the few
lines it changes, and the goals are worked out one by one, only as far as a comparison needs.
"""

from collections.abc import Iterator, Sequence

from sessions.rotation.grid import Cells, Grid, Line
from sessions.rotation.problem import Goal

Change = Sequence[tuple[int, int, int]]
"""(rod, part, pool) to be set."""


class Standing:
    """Cells, and what is known of them. `put` moves rods and remembers how to go `back`."""

    def __init__(self, grid: Grid, cells: Cells) -> None:
        self.grid = grid
        self.cells = [line[:] for line in cells]
        self.rods = range(len(cells))
        self.here = [[0] * len(grid.places) for _ in grid.slots]
        for line in self.cells:
            for column, pool in enumerate(line):
                if pool >= 0:
                    self.here[column][pool] += 1
        self.first = grid.first_use(self.cells)
        self.lines = [self._line(row) for row in self.rods]
        self._undo: tuple[list[tuple[int, int, int]], list[tuple[int, int, int]], list[tuple[int, Line]]] = (
            [], [], [],
        )  # fmt: skip

    def put(self, change: Change) -> None:
        """Set the cells of a change, each named once."""
        cells, here, day_of = self.cells, self.here, self.grid.day_of
        was, stale, touched = [], set(), set()
        for row, column, pool in change:
            before = cells[row][column]
            was.append((row, column, before))
            cells[row][column] = pool
            here[column][before] -= 1
            here[column][pool] += 1
            touched.add(row)
            stale.add((day_of[column], before))
            stale.add((day_of[column], pool))
        firsts = []
        for day, pool in stale:
            old = self.first[day][pool]
            new = next((c for c in self.grid.columns_of[day] if here[c][pool]), -1)
            if new != old:
                firsts.append((day, pool, old))
                self.first[day][pool] = new
                touched.update(self._on(day, pool))
        self._undo = (was, firsts, [(row, self.lines[row]) for row in touched])
        for row in touched:
            self.lines[row] = self._line(row)

    def back(self) -> None:
        """Undo the last `put`."""
        was, firsts, lines = self._undo
        for row, column, pool in was:
            self.here[column][self.cells[row][column]] -= 1
            self.here[column][pool] += 1
            self.cells[row][column] = pool
        for day, pool, column in firsts:
            self.first[day][pool] = column
        for row, line in lines:
            self.lines[row] = line
        self._undo = ([], [], [])

    def _on(self, day: int, pool: int) -> Iterator[int]:
        columns = self.grid.columns_of[day]
        return (row for row in self.rods if any(self.cells[row][column] == pool for column in columns))

    def _line(self, row: int) -> Line:
        return self.grid.line(row, self.cells[row], self.first)

    def value(self, goal: Goal) -> int:
        """One goal's value, as the grid counts it."""
        return self.grid.value(goal, self.cells, self.lines)

    def short_of(self, target: int) -> int:
        """How far the rods are below a worth, squared and summed: 0 when nobody is."""
        return sum((target - line.points) ** 2 for line in self.lines if line.points < target)

    def worst_off(self) -> int:
        """The rod with least; the first of them."""
        return min(self.rods, key=lambda row: self.lines[row].points)
