"""Making a rota better move by move, never worse in the policy's order.

Moves: one rod to another pool (changing places with whoever stands there); two rods changing places
in a chain of parts, so that what each has visited stays whole; two rods changing a day. Seeded and
counted, so that the same start gives the same end on any machine.
"""

import random
from collections.abc import Callable

from sessions.rotation.grid import Cells, Grid
from sessions.rotation.standing import Change, Standing

ASK_EVERY = 500


def improve(grid: Grid, cells: Cells, *, tries: int, seed: int, stop: Callable[[], bool] = lambda: False) -> Cells:
    """The best rota met on `tries` tried moves from `cells`; asks `stop` now and then."""
    dice = random.Random(seed)  # noqa: S311 - a search, not a secret
    standing = Standing(grid, cells)
    out = [(row, column) for row, line in enumerate(cells) for column, pool in enumerate(line) if pool >= 0]
    best = [standing.value(goal) for goal in grid.goals]
    for number in range(tries):
        if number % ASK_EVERY == 0 and stop():
            break
        change = propose(standing, dice, out, poor=False)
        if not change or not keeps_the_rules(standing, change):
            continue
        standing.put(change)
        found = _no_worse(standing, best) if fits(standing, change) else None
        if found is None:
            standing.back()
        else:
            best = found
    return standing.cells


def _no_worse(standing: Standing, best: list[int]) -> list[int] | None:
    """The values now, or None when they are worse; they are worked out only as far as that needs."""
    found: list[int] = []
    for number, goal in enumerate(standing.grid.goals):
        value = standing.value(goal)
        if value > best[number]:
            return None
        found.append(value)
        if value < best[number]:
            return found + [standing.value(later) for later in standing.grid.goals[number + 1 :]]
    return found


def propose(standing: Standing, dice: random.Random, out: list[tuple[int, int]], *, poor: bool) -> Change:
    """Some move; `poor` looks at the worst-off rod every other time."""
    row, column = out[dice.randrange(len(out))]
    if poor and dice.randrange(2):
        row = standing.worst_off()
        if standing.cells[row][column] < 0:
            return []
    kind = dice.randrange(5)
    if kind == 0:
        return _relocate(standing, dice, row, column)
    if kind == 4:
        return _exchange(standing, row, column, out[dice.randrange(len(out))][1])
    other = dice.randrange(len(standing.cells))
    if other == row or standing.cells[other][column] < 0:
        return []
    if kind == 1:
        return _change_a_day(standing, row, other, column)
    return _chain(standing.cells, row, other, column)


def _relocate(standing: Standing, dice: random.Random, row: int, column: int) -> Change:
    cells, may = standing.cells, standing.grid.may[row][column]
    here, there = cells[row][column], may[dice.randrange(len(may))]
    if there == here:
        return []
    movers = [row, *(other for other in _company_of(standing, row) if cells[other][column] == here)]
    change = [(mover, column, there) for mover in movers]
    free = standing.grid.room[column][there] - standing.here[column][there]
    if free < len(movers):
        met = [other for other in standing.rods if cells[other][column] == there]
        dice.shuffle(met)
        change += [(other, column, here) for other in met[: len(movers) - free]]
    return change


def _exchange(standing: Standing, row: int, a: int, b: int) -> Change:
    """A rod exchanges two of its turns; whoever has the water it comes to takes what it leaves."""
    cells = standing.cells
    here, there = cells[row][a], cells[row][b]
    if here < 0 or there < 0 or here == there:
        return []
    change = []
    for column, old, new in ((a, here, there), (b, there, here)):
        change.append((row, column, new))
        if standing.here[column][new] >= standing.grid.room[column][new]:
            change.append((next(r for r in standing.rods if cells[r][column] == new), column, old))
    return change


def _company_of(standing: Standing, row: int) -> list[int]:
    """Who goes wherever the rod goes."""
    together = [(a, b) for a, b, kept in standing.grid.pairs if kept and row in (a, b)]
    return sorted({other for pair in together for other in pair} - {row})


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


def _change_a_day(standing: Standing, a: int, b: int, column: int) -> Change:
    cells, grid = standing.cells, standing.grid
    columns = grid.columns_of[grid.day_of[column]]
    return [change for n in columns for change in ((a, n, cells[b][n]), (b, n, cells[a][n]))]


def keeps_the_rules(standing: Standing, change: Change) -> bool:
    """Whether a change minds what is settled, gradings, closures, and that no rod stays for two turns."""
    grid, cells = standing.grid, standing.cells
    new = {(row, column): pool for row, column, pool in change}
    for (row, column), pool in new.items():
        if grid.fixed[row][column] or pool not in grid.may_set[row][column]:
            return False
        line = cells[row]
        if any(new.get((row, beside), line[beside]) == pool for beside in grid.beside[row][column]):
            return False
    return True


def fits(standing: Standing, change: Change) -> bool:
    """Room, boats, ghillies and company, once the change is made."""
    grid = standing.grid
    if any(standing.here[column][pool] > grid.room[column][pool] for _, column, pool in change):
        return False
    if not (grid.counted or grid.pairs):
        return True
    return all(grid.fits(standing.cells, column) for column in {column for _, column, _ in change})
