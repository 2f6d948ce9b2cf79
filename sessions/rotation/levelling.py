"""Bringing the rods up to a worth together: the search that closes the gap to the bound.

The worst-off rod's worth alone shows a search nothing until that very rod gains. What all rods lack
of the bound, squared and summed, shrinks with many small steps. Threshold accepting (Dueck and
Scheuer, Journal of Computational Physics 90, 1990): a step may make it worse by a little, and by less
and less. In whole numbers throughout, so that every machine takes the same steps.
"""

import random
from collections.abc import Callable

from sessions.rotation.grid import Cells, Grid
from sessions.rotation.improve import ASK_EVERY, fits, keeps_the_rules, propose
from sessions.rotation.problem import Goal
from sessions.rotation.standing import Standing

WARMEST, DEAREST = 5, 30
"""In shortages of one hundredth of the target by one rod: the first allowance, and what a unit of an
earlier goal costs."""


def level(
    grid: Grid, cells: Cells, *, target: int, tries: int, seed: int, stop: Callable[[], bool] = lambda: False
) -> Cells:
    """The rota with the least lacking met on `tries` tried moves; the start itself when there is none.

    `target` is what no worst-off rod can pass, scaled as the grid scales it.
    """
    dice = random.Random(seed)  # noqa: S311 - a search, not a secret
    standing = Standing(grid, cells)
    before = grid.goals[: grid.goals.index(Goal.WORST)]
    unit = max(1, target // 100) ** 2

    def cost() -> int:
        return standing.short_of(target) + DEAREST * unit * sum(standing.value(goal) for goal in before)

    floor = DEAREST * unit * sum(grid.lost if goal is Goal.CHANGES else 0 for goal in before)
    out = [(row, column) for row, line in enumerate(cells) for column, pool in enumerate(line) if pool >= 0]
    now = least = cost()
    best = [line[:] for line in standing.cells]
    for number in range(tries):
        if least == floor or (number % ASK_EVERY == 0 and stop()):
            break
        change = propose(standing, dice, out, poor=True)
        if not change or not keeps_the_rules(standing, change):
            continue
        standing.put(change)
        allowed = WARMEST * unit * (tries - number) ** 3 // tries**3
        found = cost() if fits(standing, change) else None
        if found is None or found > now + allowed:
            standing.back()
            continue
        now = found
        if now < least:
            least, best = now, [line[:] for line in standing.cells]
    return best
