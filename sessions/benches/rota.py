"""The rota engine's figures: against the clock, against its own bounds, and against rotas made by hand."""

import resource
import statistics
import time
from collections.abc import Callable, Iterator
from dataclasses import replace

from ortools.sat.python import cp_model

from beats.shared.bench import Row, below
from sessions.benches.weeks import DAYS, week
from sessions.rotation import Goal, NoRota, Policy, Problem
from sessions.rotation.answer import Answer
from sessions.rotation.customs import greedy, one_pool_down
from sessions.rotation.grid import Grid
from sessions.rotation.model import Model
from sessions.rotation.rules import broken
from sessions.rotation.scores import ranking, scores
from sessions.rotation.sharing import share_out
from sessions.rotation.solve import solve

Say = Callable[[str], None]
STANDARD = {"rods": 6, "pools": 12, "parts": 2}
ESTATE = {"rods": 16, "pools": 30, "parts": 3}


def rows(*, weeks: int, say: Say) -> Iterator[Row]:
    """Every row, the engine's own first, so that the memory told is the engine's."""
    say("standard weeks")
    standard = [timed(week(number, **STANDARD)) for number in range(9)]
    yield from _standard(standard)
    say("standard weeks with mixed gradings")
    mixed = [timed(week(number, **STANDARD, mixed=True)) for number in range(5)]
    say("full estates")
    estates = [timed(week(number, **ESTATE, mixed=number > 0)) for number in range(3)]
    say("mended weeks")
    yield from _mended()
    megabytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    yield below(400, "memory at its most, full estates among it", round(megabytes, 1), "MiB")
    say("the plain model, for comparison")
    yield from _against_plain(mixed, estates)
    say("ways of setting up the small model")
    yield from _set_ups()
    say(f"{weeks} weeks against rotas made by hand")
    yield from _by_hand(weeks)


class Timed:
    """An answer, how long it took, and when a first rota stood."""

    def __init__(self, problem: Problem) -> None:
        self.problem, self.first_s = problem, 0.0
        began = time.perf_counter()

        def progress(_text: str) -> None:
            self.first_s = self.first_s or (time.perf_counter() - began if self.told else 0.0)
            self.told = True

        self.told = False
        self.answer: Answer = solve(problem, progress=progress)
        self.seconds = time.perf_counter() - began
        self.first_s = self.first_s or self.seconds

    def gap(self) -> float:
        """Of the worst-off rod's worth, in percent."""
        return 100 * float(next(one.gap for one in self.answer.reached if one.goal is Goal.WORST))


timed = Timed


def _standard(found: list[Timed]) -> Iterator[Row]:
    proven = sum(one.answer.proven for one in found)
    yield Row("standard week 6 x 12 x 2 x 6: proven best at every goal", proven, f"of {len(found)} weeks",
              goal="all of them", holds=proven == len(found))  # fmt: skip
    yield below(
        2, "standard week: seconds, median", round(statistics.median(one.seconds for one in found), 3), "s"
    )


def _against_plain(mixed: list[Timed], estates: list[Timed]) -> Iterator[Row]:
    """The gap to the bound, and the gap that one boolean for each rod, pool and part leaves in the same time."""
    plain = [plain_gap(one.problem, one.seconds) for one in mixed]
    yield Row("standard week, gradings mixed: gap of the worst-off rod's worth, median",
              round(statistics.median(one.gap() for one in mixed), 2), "%", statistics.median(plain))  # fmt: skip
    yield Row("standard week, gradings mixed: seconds, median",
              round(statistics.median(one.seconds for one in mixed), 2), "s")  # fmt: skip
    plain = [plain_gap(one.problem, one.seconds) for one in estates]
    yield below(3, "full estate 16 x 30 x 3 x 6: first rota, slowest of 3",
                round(max(one.first_s for one in estates), 2), "s")  # fmt: skip
    yield below(20, "full estate: seconds, slowest of 3", round(max(one.seconds for one in estates), 2), "s")
    yield below(2, "full estate: gap of the worst-off rod's worth, widest of 3",
                round(max(one.gap() for one in estates), 2), "%", max(plain))  # fmt: skip


def plain_gap(problem: Problem, seconds: float) -> float:
    """What the plain model leaves between its best and its bound, in percent; 100 when it finds nothing.

    It asks for the worst-off rod's worth alone, with no more second visits than must be.
    """
    grid = Grid(problem)
    model = Model(problem, grid)
    shared = share_out(grid, effort=0.2, few_repeats=True, seconds=5)
    model.model.add(model.expression(Goal.REPEATS) <= (shared.repeats if shared else 0))
    model.model.minimize(model.expression(Goal.WORST))
    status, solver = model.run(effort=seconds * 10, seconds=seconds)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return 100.0
    return round(100 * (solver.best_objective_bound / solver.objective_value - 1), 2)


def _mended() -> Iterator[Row]:
    seconds, proven, weeks = [], 0, [*range(5)]
    for number in weeks:
        problem = high_water(week(number, **STANDARD, mixed=number > 2))
        began = time.perf_counter()
        answer = solve(problem, effort=0.1, tries=6000)
        seconds.append(time.perf_counter() - began)
        proven += answer.reached[0].proven
    yield below(1, "two pools close at mid-week: seconds, slowest of 5", round(max(seconds), 3), "s")
    yield Row("two pools close at mid-week: proven fewest changes", proven, "of 5 weeks", goal="all of them",
              holds=proven == len(weeks))  # fmt: skip


def high_water(problem: Problem) -> Problem:
    """The same week on its fourth morning: three days fished, and two pools too high from now on."""
    steps = frozenset(solve(problem, effort=0.1, tries=2000).steps)
    fished = frozenset(step for step in steps if step.day < DAYS[3])
    used = sorted({step.pool for step in steps - fished})[:2]
    high = {(day, part, pool): "too high" for day in DAYS[3:] for part in problem.parts for pool in used}
    return replace(problem, fished=fished, former=steps - fished, closed={**problem.closed, **high})


def _set_ups() -> Iterator[Row]:
    """The small model with all of it in the linear relaxation, and with the solver's own choice."""
    grid = Grid(week(1, **ESTATE, mixed=True))
    gaps = {}
    for linear in (2, 1):
        shared = share_out(grid, effort=1.0, few_repeats=True, seconds=20, linear=linear)
        if shared is None:
            gaps[linear] = 100.0
            continue
        reached = -grid.ranking(shared.cells)[grid.goals.index(Goal.WORST)] / (100 * grid.scale)
        gaps[linear] = round(100 * (1 - reached / float(shared.worst)), 2) if shared.cells else 100.0
    yield Row("full estate, small model alone: gap read off, all linear (baseline: solver's choice)", gaps[2], "%",
              gaps[1])  # fmt: skip


def _by_hand(weeks: int) -> Iterator[Row]:
    for policy in Policy:
        for name, make in (("the simple custom", one_pool_down), ("the greedy rota", greedy)):
            yield from _compare(policy, name, make, weeks)


def _compare(policy: Policy, name: str, make: Callable, weeks: int) -> Iterator[Row]:  # type: ignore[type-arg]
    worse, pairs = 0, []
    for number in range(weeks):
        problem = week(
            number, rods=4 + number % 5, pools=9 + number % 6, parts=2, mixed=number % 2 > 0, policy=policy
        )
        other = make(problem)
        if other is None or broken(problem, other):
            continue
        try:
            answer = solve(problem, effort=0.02, tries=400)
        except NoRota:
            continue
        worse += ranking(problem, answer.steps) > ranking(problem, other)
        pairs.append((scores(problem, answer.steps), scores(problem, other)))
    yield Row(f"{policy}: weeks worse than {name}", worse, f"of {len(pairs)} weeks", goal="none", holds=worse == 0)
    for goal in week(0, **STANDARD, policy=policy).goals:
        ours, theirs = (statistics.mean(abs(float(pair[at][goal])) for pair in pairs) for at in (0, 1))
        yield Row(f"{policy}: {goal}, mean, against {name}", round(ours, 3), "", round(theirs, 3))
