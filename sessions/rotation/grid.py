"""A rota as small whole numbers, judged fast: what the search looks at thousands of times a second.

It gives the same ranking as `scores` (a test compares them); only the fractions are scaled to whole
numbers, `scale` to one.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise
from typing import NamedTuple

from sessions.rotation.problem import Goal, Problem, Step

Cells = list[list[int]]
"""Rods down, parts across: the pool's number, or -1 where the rod is not out."""


class Grid:
    """A problem in numbers. `cells` live outside, so that one grid judges many rotas."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.rods = sorted(problem.rods, key=lambda rod: rod.key)
        self.places = problem.down_the_beat
        self.slots = problem.slots
        number = {place.key: index for index, place in enumerate(self.places)}
        self.number = number
        self.turns = [problem.turns_of(rod) for rod in self.rods]
        self.scale = math.lcm(*self.turns)
        self.weight = [self.scale // turns for turns in self.turns]
        self.worth = [[place.worth_in(part) for place in self.places] for _, part in self.slots]
        self.base = [place.worth for place in self.places]
        self.way = [[problem.way(a.key, b.key) for b in self.places] for a in self.places]
        self.room = [[problem.room_on(slot, place) for place in self.places] for slot in self.slots]
        self.may = [
            [
                [number[place.key] for place in problem.choices(rod, slot)] if slot[0] in rod.days else []
                for slot in self.slots
            ]
            for rod in self.rods
        ]
        self.may_set = [[set(pools) for pools in row] for row in self.may]
        self.fact = [[(rod.key, slot) in problem.fact_of for slot in self.slots] for rod in self.rods]
        self.fixed = [
            [(rod.key, slot) in problem.pin_of or fact for slot, fact in zip(self.slots, line, strict=True)]
            for rod, line in zip(self.rods, self.fact, strict=True)
        ]
        self.beside = [self._turns_beside(line) for line in self.may]
        self.day_of = [problem.days.index(day) for day, _ in self.slots]
        self.columns_of = [
            [column for column, day in enumerate(self.day_of) if day == number]
            for number in range(len(problem.days))
        ]
        self.former = self.cells_of(problem.former)
        self.lost = len(problem.former) - sum(pool >= 0 for line in self.former for pool in line)
        """Former turns nobody can keep: their rod, pool or day is no longer there."""
        self.goals = problem.goals
        self.afloat = [place.boat for place in self.places]
        self.led = [[place.ghillie or rod.needs_ghillie for place in self.places] for rod in self.rods]
        self.boats = [problem.boats_at(slot) for slot in self.slots]
        self.ghillies = [problem.ghillies_at(slot) for slot in self.slots]
        rows = {rod.key: row for row, rod in enumerate(self.rods)}
        self.pairs = [
            (rows[a], rows[b], together)
            for some, together in ((problem.together, True), (problem.apart, False))
            for a, b in sorted(some)
            if rows.keys() >= {a, b}
        ]
        self.counted = any(self.afloat) or any(any(line) for line in self.led)
        cut = problem.discounts
        self.cuts = (cut.second_hand, cut.second_visit, cut.later_visit)

    def _turns_beside(self, may: list[list[int]]) -> list[list[int]]:
        """For each part, a rod's turns before and after, days at home left out."""
        out = [column for column, pools in enumerate(may) if pools]
        beside: list[list[int]] = [[] for _ in may]
        for before, after in pairwise(out):
            beside[before].append(after)
            beside[after].append(before)
        return beside

    def cells_of(self, steps: Iterable[Step]) -> Cells:
        rows = {rod.key: index for index, rod in enumerate(self.rods)}
        columns = {slot: index for index, slot in enumerate(self.slots)}
        cells = [[-1] * len(self.slots) for _ in self.rods]
        for step in steps:
            if step.rod in rows and step.slot in columns and step.pool in self.number:
                cells[rows[step.rod]][columns[step.slot]] = self.number[step.pool]
        return cells

    def steps_of(self, cells: Cells) -> tuple[Step, ...]:
        return tuple(
            Step(*slot, rod.key, self.places[cells[row][column]].key)
            for column, slot in enumerate(self.slots)
            for row, rod in enumerate(self.rods)
            if cells[row][column] >= 0
        )

    def fits(self, cells: Cells, column: int) -> bool:
        """Whether boats and ghillies are enough in a part, and company is kept."""
        if self.counted:
            standing = [(row, line[column]) for row, line in enumerate(cells) if line[column] >= 0]
            if sum(self.afloat[pool] for _, pool in standing) > self.boats[column]:
                return False
            if sum(self.led[row][pool] for row, pool in standing) > self.ghillies[column]:
                return False
        for a, b, together in self.pairs:
            here, there = cells[a][column], cells[b][column]
            settled = self.fact[a][column] and self.fact[b][column]
            if here >= 0 and there >= 0 and (here == there) != together and not settled:
                return False
        return True

    def ranking(self, cells: Cells) -> tuple[int, ...]:
        """The goals in the policy's order as whole numbers; smaller is better."""
        used = self.first_use(cells)
        lines = [self.line(row, cells[row], used) for row in range(len(cells))]
        return tuple(self.value(goal, cells, lines) for goal in self.goals)

    def value(self, goal: Goal, cells: Cells, lines: "Sequence[Line]") -> int:
        """One goal's value, from the rods' lines where they tell it."""
        return COUNTED[goal](self, cells, lines)

    def line(self, row: int, pools: list[int], first_use: list[list[int]]) -> "Line":
        """What one rod has of its week, given by day and pool the part in which it is first fished."""
        second_hand, second, later = self.cuts
        visits: dict[int, int] = {}
        total = firsts = repeats = way = changes = 0
        last = last_day = -1
        former = self.former[row]
        for column, pool in enumerate(pools):
            changes += former[column] >= 0 and former[column] != pool
            if pool < 0:
                continue
            day = self.day_of[column]
            if first_use[day][pool] == column:
                total += self.worth[column][pool] * 100
                firsts += 1
            else:
                total += self.worth[column][pool] * (100 - second_hand)
            seen = visits.get(pool, 0)
            if seen:
                repeats += 1
                total -= self.base[pool] * (second if seen == 1 else later)
            visits[pool] = seen + 1
            if day == last_day:
                way += self.way[last][pool]
            last, last_day = pool, day
        return Line(total * self.weight[row], firsts * self.weight[row], repeats, way, changes)

    def first_use(self, cells: Cells) -> list[list[int]]:
        """By day and pool, the part in which the pool is first fished."""
        used = [[-1] * len(self.places) for _ in range(max(self.day_of) + 1)]
        for column, day in enumerate(self.day_of):
            first = used[day]
            for line in cells:
                pool = line[column]
                if pool >= 0 and first[pool] < 0:
                    first[pool] = column
        return used

    def follow(self, cells: Cells) -> int:
        counts: dict[tuple[int, int], int] = {}
        before: dict[int, list[int]] = {}
        for column in range(len(self.slots)):
            here: dict[int, list[int]] = {}
            for row, line in enumerate(cells):
                pool = line[column]
                if pool >= 0:
                    here.setdefault(pool, []).append(row)
                    for ahead in before.get(pool, ()):
                        if ahead != row:
                            counts[ahead, row] = counts.get((ahead, row), 0) + 1
            before = here
        return sum(count * (count - 1) // 2 for count in counts.values() if count > 1)


class Line(NamedTuple):
    """What one rod has of its week, scaled as the grid scales it."""

    points: int
    fresh: int
    repeats: int
    way: int
    changes: int


def _apart(many: Sequence[int]) -> int:
    return max(many) - min(many)


COUNTED: dict[Goal, Callable[[Grid, Cells, Sequence[Line]], int]] = {
    Goal.CHANGES: lambda grid, _, lines: grid.lost + sum(line.changes for line in lines),
    Goal.REPEATS: lambda _, __, lines: sum(line.repeats for line in lines),
    Goal.WORST: lambda _, __, lines: -min(line.points for line in lines),
    Goal.SPREAD: lambda _, __, lines: _apart([line.points for line in lines]),
    Goal.FOLLOW: lambda grid, cells, _: grid.follow(cells),
    Goal.FIRST: lambda _, __, lines: _apart([line.fresh for line in lines]),
    Goal.WALK: lambda _, __, lines: sum(line.way for line in lines),
}
