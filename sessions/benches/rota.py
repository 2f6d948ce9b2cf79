"""The rota engine's figures: against the clock, against its own bounds, and against rotas made by hand."""

import resource
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from statistics import mean, median

from ortools.sat.python import cp_model

from beats.shared.bench import Row, below
from sessions.benches.weeks import DAYS, Size, week
from sessions.rotation import Goal, NoRota, Policy, Problem, Step
from sessions.rotation.customs import greedy, one_pool_down
from sessions.rotation.grid import Grid
from sessions.rotation.model import Model
from sessions.rotation.rules import broken
from sessions.rotation.scores import ranking, scores
from sessions.rotation.sharing import share_out
from sessions.rotation.solve import solve

STANDARD = Size(rods=6, pools=12, parts=2)
ESTATE = Size(rods=16, pools=30, parts=3)
BY_HAND = {"the simple custom": one_pool_down, "the greedy rota": greedy}
Say = Callable[[str], None]
Values = dict[Goal, Fraction]


class Timed:
    """An answer, how long it took, and when a first rota stood."""

    def __init__(self, problem: Problem) -> None:
        self.problem, marks, began = problem, list[float](), time.perf_counter()
        self.answer = solve(problem, progress=lambda _text: marks.append(time.perf_counter() - began))
        self.seconds = time.perf_counter() - began
        self.first_s = marks[1] if len(marks) > 1 else self.seconds

    def gap(self) -> float:
        """How far the worst-off rod's worth is from its bound, in percent."""
        return 100 * float(next(one.gap for one in self.answer.reached if one.goal is Goal.WORST))


def rows(*, weeks: int, say: Say) -> Iterator[Row]:
    """Every row, the engine's own first, so that the memory told is the engine's."""
    say("standard weeks")
    yield from _standard([Timed(week(number, STANDARD)) for number in range(9)])
    say("standard weeks with mixed gradings")
    mixed = [Timed(week(number, STANDARD, mixed=True)) for number in range(5)]
    say("full estates")
    estates = [Timed(week(number, ESTATE, mixed=True)) for number in range(5)]
    say("mended weeks")
    yield from _mended()
    mebibytes = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    yield below(400, "memory at its most, full estates among it", round(mebibytes, 1), "MiB")
    say("the plain model, for comparison")
    yield from _against_plain(mixed, estates)
    say("ways of setting up the small model")
    yield from _set_ups()
    say(f"{weeks} weeks against rotas made by hand")
    for policy in Policy:
        yield from _by_hand(policy, weeks)


def _standard(found: list[Timed]) -> Iterator[Row]:
    proven = sum(one.answer.proven for one in found)
    yield _all(f"standard week {STANDARD}: proven best at every goal", proven, len(found))
    yield below(2, "standard week: time, median", round(median(one.seconds for one in found), 3), "s")


def _all(case: str, count: int, of: int) -> Row:
    return Row(case, count, f"of {of} weeks", goal="all of them", holds=count == of)


def _mended() -> Iterator[Row]:
    seconds, proven, weeks = [], 0, range(5)
    for number in weeks:
        problem = high_water(week(number, STANDARD, mixed=number > 2))
        began = time.perf_counter()
        answer = solve(problem, effort=0.1, tries=6000)
        seconds.append(time.perf_counter() - began)
        proven += answer.reached[0].proven
    yield _all("two pools close at mid-week: proven fewest changes", proven, len(weeks))
    yield below(1, "two pools close at mid-week: time, slowest of 5", round(max(seconds), 3), "s")


def high_water(problem: Problem) -> Problem:
    """The same week on its fourth morning: three days fished, and two pools too high from now on."""
    steps = frozenset(solve(problem, effort=0.1, tries=2000).steps)
    fished = frozenset(step for step in steps if step.day < DAYS[3])
    used = sorted({step.pool for step in steps - fished})[:2]
    high = {(day, part, pool): "too high" for day in DAYS[3:] for part in problem.parts for pool in used}
    return replace(problem, fished=fished, former=steps - fished, closed={**problem.closed, **high})


def _against_plain(mixed: list[Timed], estates: list[Timed]) -> Iterator[Row]:
    """The gap to the bound, beside what one boolean for each rod, pool and part leaves in the same time."""
    for case, found in ((f"standard week {STANDARD}, gradings mixed", mixed), (f"full estate {ESTATE}", estates)):
        gaps, plain = [one.gap() for one in found], [plain_gap(one.problem, one.seconds) for one in found]
        middle = round(median(gaps), 2), "%", median(plain)
        if found is estates:
            yield below(2, f"{case}: gap of the worst-off rod's worth, median of 5", *middle)
        else:
            yield Row(f"{case}: gap of the worst-off rod's worth, median of 5", *middle)
        yield Row(f"{case}: the same, widest", round(max(gaps), 2), "%", max(plain))
        yield below(20, f"{case}: time, slowest", round(max(one.seconds for one in found), 2), "s")
        yield below(3, f"{case}: first rota, slowest", round(max(one.first_s for one in found), 2), "s")


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


def _set_ups() -> Iterator[Row]:
    """The small model with all of it in the linear relaxation, and with the solver's own choice."""
    grid = Grid(week(1, ESTATE, mixed=True))
    all_linear, own_choice = (_read_off(grid, linear) for linear in (2, 1))
    case = f"full estate {ESTATE}: gap of the small model's own rota, all linear (baseline: solver's choice)"
    yield Row(case, all_linear, "%", own_choice)


def _read_off(grid: Grid, linear: int) -> float:
    shared = share_out(grid, effort=1.0, few_repeats=True, seconds=20, linear=linear)
    if shared is None:
        return 100.0
    reached = -grid.ranking(shared.cells)[grid.goals.index(Goal.WORST)] / (100 * grid.scale)
    return round(100 * (1 - reached / float(shared.worst)), 2)


def _by_hand(policy: Policy, weeks: int) -> Iterator[Row]:
    worse = dict.fromkeys(BY_HAND, 0)
    values: dict[str, list[tuple[Values, Values]]] = {name: [] for name in BY_HAND}
    for number in range(weeks):
        size = Size(rods=4 + number % 5, pools=9 + number % 6, parts=2)
        problem = week(number, size, mixed=number % 2 > 0, policy=policy)
        steps = _quick(problem)
        for name, make in BY_HAND.items():
            other = make(problem)
            if steps and other and not broken(problem, other):
                worse[name] += ranking(problem, steps) > ranking(problem, other)
                values[name].append((scores(problem, steps), scores(problem, other)))
    for name, pairs in values.items():
        yield Row(f"{policy}: weeks worse than {name}", worse[name], f"of {len(pairs)}", goal="none",
                  holds=not worse[name])  # fmt: skip
        for goal in problem.goals:
            ours, theirs = (mean(abs(float(pair[side][goal])) for pair in pairs) for side in (0, 1))
            yield Row(f"{policy}: {goal}, mean, beside {name}", round(ours, 3), "", round(theirs, 3))


def _quick(problem: Problem) -> tuple[Step, ...] | None:
    try:
        return solve(problem, effort=0.02, tries=1500).steps
    except NoRota:
        return None
