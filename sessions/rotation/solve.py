"""The best rota that can be found, and what is proven of it.

1. Starts are made without searching: balanced designs, the simple custom, the rod with least first.
2. Sharing the water out by a small model gives bounds that no rota can pass, and often a start near them.
3. The rods are brought up to that bound together, and every goal is improved move by move.
4. Goal by goal, in the policy's order, the value is compared with its bound. Where they do not meet and
   the week is small enough, CP-SAT looks for a better rota and a closer bound, with the goals before it
   kept; then what only the moves know (who follows whom, fresh water, ways) is improved once more.

The same input gives the same rota on any machine: one worker, a fixed seed, counted moves and the
solver's own deterministic time. The wall clock is only a safety stop, and the answer says if it struck.
"""

import time
from collections.abc import Callable
from fractions import Fraction
from itertools import count

from ortools.sat.python import cp_model

from sessions.rotation import bounds
from sessions.rotation.answer import Answer, Reached
from sessions.rotation.customs import greedy, one_pool_down
from sessions.rotation.designs import paired_rota, square_rota
from sessions.rotation.effort import EFFORT, TRIES
from sessions.rotation.grid import Cells, Grid
from sessions.rotation.improve import improve
from sessions.rotation.levelling import level
from sessions.rotation.model import Model
from sessions.rotation.problem import Goal, NoRota, Problem
from sessions.rotation.refusing import refuse_conflict, refuse_hopeless
from sessions.rotation.rules import broken
from sessions.rotation.scores import follows, in_time, scores, worth_by_rod
from sessions.rotation.sharing import share_out
from sessions.rotation.solver import SEED, whole_up

SAFETY_SECONDS = 60.0
MODELLED = (Goal.CHANGES, Goal.REPEATS, Goal.WORST, Goal.SPREAD)
LARGEST_MODEL = 1500
"""Choices (rods x pools x parts) up to which the whole week is put to CP-SAT; beyond, moves do better."""

Progress = Callable[[str], None]


def solve(
    problem: Problem,
    *,
    effort: float = EFFORT,
    tries: int = TRIES,
    progress: Progress = lambda _text: None,
    stop: Callable[[], bool] = lambda: False,
) -> Answer:
    """The best rota found for a problem. Raises NoRota, naming the cause, when no rota keeps the rules.

    `effort` and `tries` limit the search; `progress` is told what is being done; when `stop` answers
    yes the best rota so far is returned, marked as cut short.
    """
    refuse_hopeless(problem)
    return _Search(problem, effort, tries, progress, stop).answer()


def possible(problem: Problem) -> bool:
    """Whether any rota keeps the rules."""
    if not problem.rods:
        return True
    grid = Grid(problem)
    if any(not pools for row, line in enumerate(grid.may) for pools in _out(grid, row, line)):
        return False
    status, _ = Model(problem, grid).run(effort=5.0, seconds=SAFETY_SECONDS)
    return bool(status != cp_model.INFEASIBLE)


def _out(grid: Grid, row: int, line: list[list[int]]) -> list[list[int]]:
    return [pools for pools, (day, _) in zip(line, grid.slots, strict=True) if day in grid.rods[row].days]


class _Search:
    """One problem on its way to an answer."""

    def __init__(
        self, problem: Problem, effort: float, tries: int, progress: Progress, stop: Callable[[], bool]
    ) -> None:
        self.problem, self.effort, self.tries, self.progress, self.stop = problem, effort, tries, progress, stop
        self.grid = Grid(problem)
        self.began = time.monotonic()
        self.seeds = count(SEED)
        self.bounds: dict[Goal, Fraction] = {}
        self.cut_short = ""
        self.shared: Fraction | None = None
        """What the worst-off rod cannot pass, with as many second visits as were reached."""

    def answer(self) -> Answer:
        self.progress("starting from what is known to be fair")
        cells = self._start()
        if not self._all_met(cells):
            cells = self._improved(self._levelled(cells))
            if sum(len(pools) for line in self.grid.may for pools in line) <= LARGEST_MODEL:
                for goal in self.problem.goals:
                    cells = self._goal(goal, cells)
                if not self._all_met(cells):
                    cells = self._improved(cells)
        return self._told(cells)

    def _levelled(self, cells: Cells) -> Cells:
        """The water shared out, and the rods brought up to what that shows to be possible."""
        if self.problem.former or self._interrupted():
            return cells  # few turns may change: the goal before all others decides
        self.progress("a first rota stands; sharing the water out")
        settled = self.problem.goals[0] is Goal.REPEATS
        shared = share_out(self.grid, effort=self.effort, few_repeats=settled, seconds=self._seconds_left())
        if shared is None:
            return cells
        if settled:
            self.bounds[Goal.REPEATS] = max(Fraction(shared.repeats), self._bound(Goal.REPEATS, cells))
        if not broken(self.problem, self.grid.steps_of(shared.cells)):
            cells = min(cells, shared.cells, key=self.grid.ranking)
        self.progress("bringing the rods up together")
        most = min(shared.worst, bounds.most_for_the_worst_off(self.problem, repeats=None))
        target = int(most * self._unit(Goal.WORST))
        best = level(self.grid, cells, target=target, tries=self.tries, seed=next(self.seeds), stop=self.stop)
        cells = min(cells, best, key=self.grid.ranking)
        if not settled or self._value(Goal.REPEATS, cells) <= shared.repeats:
            self.shared = -shared.worst  # else the bound was for fewer second visits than were reached
        return cells

    def _start(self) -> Cells:
        """The best rota made without searching; where none keeps the rules, any the solver finds."""
        starts = [make(self.problem) for make in (square_rota, paired_rota, one_pool_down, greedy)]
        former = self.grid.steps_of(self.grid.former) if self.problem.former else None
        keep = [steps for steps in (*starts, former) if steps and not broken(self.problem, steps)]
        cells = [self.grid.cells_of(steps) for steps in keep]
        if self.problem.former or not cells:
            cells += self._any(wanted=not cells)
        return min(cells, key=self.grid.ranking)

    def _any(self, *, wanted: bool) -> list[Cells]:
        """A rota that keeps the rules, as near to the former one as the solver quickly comes.

        None where the solver does not settle it; when one is `wanted`, that is refused.
        """
        model = Model(self.problem, self.grid)
        if self.problem.former:
            model.hint(self.grid.former)
            model.model.minimize(model.expression(Goal.CHANGES))
        status, solver = model.run(effort=max(self.effort, 5.0), seconds=self._seconds_left())
        if status == cp_model.INFEASIBLE:
            refuse_conflict(self.problem, possible)
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            if wanted:
                raise NoRota("No rota was found with the effort allowed. Split the beat, or open more pools.")
            return []
        if self.problem.former:
            self.bounds[Goal.CHANGES] = Fraction(whole_up(solver.best_objective_bound))
        return [model.cells(solver)]

    def _goal(self, goal: Goal, cells: Cells) -> Cells:
        """One goal, with those before it kept at what they have reached."""
        value, bound = self._value(goal, cells), self._bound(goal, cells)
        if value <= bound or goal not in MODELLED or self._interrupted():
            return cells
        self.progress(f"improving: {goal}")
        model = self._model_keeping(goal, cells)
        model.model.minimize(model.expression(goal))
        model.hint(cells)
        status, solver = model.run(effort=self.effort, seconds=self._seconds_left())
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            cells = min(cells, model.cells(solver), key=self.grid.ranking)
            found = Fraction(whole_up(solver.best_objective_bound), self._unit(goal))
            self.bounds[goal] = max(bound, found)
        return cells

    def _model_keeping(self, goal: Goal, cells: Cells) -> Model:
        """A fresh model in which the earlier goals are no worse than in `cells`."""
        model = Model(self.problem, self.grid)
        reached = dict(zip(self.problem.goals, self.grid.ranking(cells), strict=True))
        for earlier in self.problem.goals[: self.problem.goals.index(goal)]:
            model.model.add(model.expression(earlier) <= reached[earlier])
        if goal is Goal.WORST:
            model.model.add(model.expression(goal) >= int(self._bound(goal, cells) * self._unit(goal)))
        return model

    def _bound(self, goal: Goal, cells: Cells) -> Fraction:
        """What no rota as good on the goals before can pass, without searching, or as found so far."""
        known = self.bounds.get(goal)
        if known is not None:
            return known
        if goal is Goal.WORST and self.shared is not None:
            return max(self.shared, self._quick_bound(goal, cells))
        return self._quick_bound(goal, cells)

    def _quick_bound(self, goal: Goal, cells: Cells) -> Fraction:
        before = self.problem.goals[: self.problem.goals.index(goal)]
        repeats = int(self._value(Goal.REPEATS, cells)) if Goal.REPEATS in before else None
        quick = {
            Goal.REPEATS: lambda: Fraction(bounds.least_repeats(self.problem)),
            Goal.WORST: lambda: -bounds.most_for_the_worst_off(self.problem, repeats=repeats),
            Goal.WALK: lambda: Fraction(bounds.least_walk(self.problem, repeats=repeats)),
        }
        return quick.get(goal, lambda: Fraction(0))()

    def _value(self, goal: Goal, cells: Cells) -> Fraction:
        ranking = self.grid.ranking(cells)
        return Fraction(ranking[self.problem.goals.index(goal)], self._unit(goal))

    def _unit(self, goal: Goal) -> int:
        """What one is in the grid's whole numbers."""
        units = {
            Goal.WORST: 100 * self.grid.scale,
            Goal.SPREAD: 100 * self.grid.scale,
            Goal.FIRST: self.grid.scale,
        }
        return units.get(goal, 1)

    def _all_met(self, cells: Cells) -> bool:
        return all(self._value(goal, cells) <= self._bound(goal, cells) for goal in self.problem.goals)

    def _improved(self, cells: Cells) -> Cells:
        if self._interrupted():
            return cells
        self.progress("improving move by move")
        return improve(self.grid, cells, tries=self.tries // 6, seed=next(self.seeds), stop=self.stop)

    def _interrupted(self) -> bool:
        if not self.cut_short and self.stop():
            self.cut_short = "stopped by hand"
        if not self.cut_short and self._seconds_left() <= 0.5:
            self.cut_short = f"stopped by the clock after {SAFETY_SECONDS:.0f} seconds"
        return bool(self.cut_short)

    def _seconds_left(self) -> float:
        return max(0.1, SAFETY_SECONDS - (time.monotonic() - self.began))

    def _told(self, cells: Cells) -> Answer:
        steps = self.grid.steps_of(cells)
        if faults := broken(self.problem, steps):
            raise AssertionError("the search broke a rule: " + "; ".join(faults))
        ordered = in_time(self.problem, steps)
        found = scores(self.problem, ordered)
        custom = one_pool_down(self.problem)
        return Answer(
            steps=steps,
            reached=tuple(Reached(goal, found[goal], self._bound(goal, cells)) for goal in self.problem.goals),
            worth=worth_by_rod(self.problem, ordered),
            follows=dict(follows(self.problem, ordered)),
            custom=scores(self.problem, custom) if custom and not broken(self.problem, custom) else None,
            binding=bounds.binding(self.problem),
            cut_short=self.cut_short,
        )
