"""Making a rota better move by move, never worse in the policy's order.

Moves: one rod to another pool (changing places with whoever stands there); two rods changing places
in a chain of parts, so that what each has visited stays whole; two rods changing a day. Seeded and
counted, so that the same start gives the same end on any machine.
"""

import random
from collections.abc import Callable

from sessions.rotation.grid import Cells, Grid
from sessions.rotation.problem import Problem
from sessions.rotation.rules import broken

Change = list[tuple[int, int, int]]
"""(rod, part, pool) to be set."""


def improve(
    problem: Problem, grid: Grid, cells: Cells, *, tries: int, seed: int, stop: Callable[[], bool] = lambda: False
) -> Cells:
    """The best rota met on `tries` tried moves from `cells`; asks `stop` now and then."""
    dice = random.Random(seed)  # noqa: S311 - a search, not a secret
    cells = [line[:] for line in cells]
    best = grid.ranking(cells)
    plain = not (problem.boats or problem.ghillies or problem.together or problem.apart or _any_led(problem))
    out = [(row, column) for row, line in enumerate(cells) for column, pool in enumerate(line) if pool >= 0]
    for number in range(tries):
        if number % 500 == 0 and stop():
            break
        change = _propose(grid, cells, dice, out)
        if not change or not _keeps_the_rules(grid, cells, change):
            continue
        before = [(row, column, cells[row][column]) for row, column, _ in change]
        _set(cells, change)
        found = grid.ranking(cells)
        if found <= best and (plain or not broken(problem, grid.steps_of(cells))):
            best = found
        else:
            _set(cells, before)
    return cells


def _any_led(problem: Problem) -> bool:
    return any(place.boat or place.ghillie for place in problem.places) or any(
        r.needs_ghillie for r in problem.rods
    )


def _set(cells: Cells, change: Change) -> None:
    for row, column, pool in change:
        cells[row][column] = pool


def _propose(grid: Grid, cells: Cells, dice: random.Random, out: list[tuple[int, int]]) -> Change:
    row, column = out[dice.randrange(len(out))]
    kind = dice.randrange(4)
    if kind == 0:
        return _relocate(grid, cells, dice, row, column)
    other = dice.randrange(len(cells))
    if other == row or cells[other][column] < 0:
        return []
    if kind == 1:
        return _change_a_day(grid, cells, row, other, column)
    return _chain(cells, row, other, column)


def _relocate(grid: Grid, cells: Cells, dice: random.Random, row: int, column: int) -> Change:
    here, may = cells[row][column], grid.may[row][column]
    there = may[dice.randrange(len(may))]
    if there == here:
        return []
    standing = [other for other in range(len(cells)) if cells[other][column] == there]
    if len(standing) < grid.holds[there]:
        return [(row, column, there)]
    other = standing[dice.randrange(len(standing))]
    return [(row, column, there), (other, column, here)]


def _chain(cells: Cells, a: int, b: int, column: int) -> Change:
    """Two rods change places in a part, then wherever that made one of them visit a pool twice."""
    change: dict[tuple[int, int], int] = {}
    waiting, done = [column], set()
    while waiting:
        at = waiting.pop()
        if at in done:
            continue
        done.add(at)
        here, there = cells[a][at], cells[b][at]
        if here < 0 or there < 0:
            return []
        change[a, at], change[b, at] = there, here
        for row, pool in ((a, there), (b, here)):
            waiting += [n for n, was in enumerate(cells[row]) if was == pool and n not in done]
    return [(row, at, pool) for (row, at), pool in change.items()]


def _change_a_day(grid: Grid, cells: Cells, a: int, b: int, column: int) -> Change:
    day = grid.day_of[column]
    columns = [n for n, other in enumerate(grid.day_of) if other == day]
    return [change for n in columns for change in ((a, n, cells[b][n]), (b, n, cells[a][n]))]


def _keeps_the_rules(grid: Grid, cells: Cells, change: Change) -> bool:
    """Pins, gradings, closures, room, and no rod staying for two turns; the rest is checked later."""
    new = {(row, column): pool for row, column, pool in change}
    for (row, column), pool in new.items():
        if grid.fixed[row][column] or pool not in grid.may_set[row][column]:
            return False
        line = cells[row]
        if any(new.get((row, beside), line[beside]) == pool for beside in grid.beside[row][column]):
            return False
        here = sum(new.get((other, column), cells[other][column]) == pool for other in range(len(cells)))
        if here > grid.holds[pool]:
            return False
    return True
