"""A rota judged goal by goal, by plain counting: nothing here knows a solver.

Every value is a number to be made small, so that rotas compare as tuples in the policy's order.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import pairwise

from sessions.rotation.problem import Goal, Problem, Step


def in_time(problem: Problem, steps: Iterable[Step]) -> list[Step]:
    """The turns in the order they are fished."""
    when = {slot: index for index, slot in enumerate(problem.slots)}
    return sorted(steps, key=lambda step: (when[step.slot], step.rod))


def scores(problem: Problem, steps: Iterable[Step]) -> dict[Goal, Fraction]:
    """Every goal's value; smaller is better, so the worst-off rod's worth comes with a minus."""
    ordered = in_time(problem, steps)
    worth = worth_by_rod(problem, ordered).values()
    shares = fresh_shares(problem, ordered).values()
    return {
        Goal.CHANGES: Fraction(changed(problem, ordered)),
        Goal.REPEATS: Fraction(repeats(ordered)),
        Goal.WORST: -min(worth),
        Goal.SPREAD: max(worth) - min(worth),
        Goal.FOLLOW: Fraction(sum(count * (count - 1) // 2 for count in follows(problem, ordered).values())),
        Goal.FIRST: max(shares) - min(shares),
        Goal.WALK: Fraction(walk(problem, ordered)),
    }


def ranking(problem: Problem, steps: Iterable[Step]) -> tuple[Fraction, ...]:
    """The values in the policy's order: the smaller tuple is the better rota."""
    found = scores(problem, steps)
    return tuple(found[goal] for goal in problem.goals)


def worth_by_rod(problem: Problem, steps: Iterable[Step]) -> dict[str, Fraction]:
    """Worth per turn fished, by rod, with the discounts for second-hand water and repeated visits."""
    points = points_by_rod(problem, in_time(problem, steps))
    return {rod.key: Fraction(points[rod.key], 100 * problem.turns_of(rod)) for rod in problem.rods}


def points_by_rod(problem: Problem, ordered: Sequence[Step]) -> dict[str, int]:
    """Worth times 100, summed over each rod's turns."""
    cut, visits = problem.discounts, Counter[tuple[str, str]]()
    points = Counter[str]()
    for step, fresh in zip(ordered, freshness(problem, ordered), strict=True):
        place = problem.place[step.pool]
        visits[step.rod, step.pool] += 1
        again = {1: 0, 2: cut.second_visit}.get(visits[step.rod, step.pool], cut.later_visit)
        points[step.rod] += (
            place.worth_in(step.part) * (100 - (0 if fresh else cut.second_hand)) - place.worth * again
        )
    return points


def freshness(problem: Problem, ordered: Sequence[Step]) -> list[bool]:
    """For each turn in time, whether nobody fished the pool in an earlier part of that day."""
    first: dict[tuple[object, str], int] = {}
    part_of = {part: index for index, part in enumerate(problem.parts)}
    for step in ordered:
        first.setdefault((step.day, step.pool), part_of[step.part])
    return [first[step.day, step.pool] == part_of[step.part] for step in ordered]


def fresh_shares(problem: Problem, ordered: Sequence[Step]) -> dict[str, Fraction]:
    """The share of each rod's turns that were the first through a pool that day."""
    fresh = Counter(
        step.rod for step, is_fresh in zip(ordered, freshness(problem, ordered), strict=True) if is_fresh
    )
    return {rod.key: Fraction(fresh[rod.key], problem.turns_of(rod)) for rod in problem.rods}


def repeats(steps: Iterable[Step]) -> int:
    """Visits beyond the first of a rod to a pool, summed."""
    visits = Counter((step.rod, step.pool) for step in steps)
    return sum(count - 1 for count in visits.values())


def changed(problem: Problem, steps: Iterable[Step]) -> int:
    """Turns of the former rota that are no longer so."""
    return len(problem.former - set(steps))


def follows(problem: Problem, steps: Iterable[Step]) -> Counter[tuple[str, str]]:
    """How often the second rod of a pair comes to a pool in the part after the first fished it."""
    at: dict[tuple[int, str], list[str]] = defaultdict(list)
    when = {slot: index for index, slot in enumerate(problem.slots)}
    for step in steps:
        at[when[step.slot], step.pool].append(step.rod)
    found: Counter[tuple[str, str]] = Counter()
    for (slot, pool), rods in at.items():
        for after in at.get((slot + 1, pool), ()):
            found.update((before, after) for before in rods if before != after)
    return found


def walk(problem: Problem, ordered: Iterable[Step]) -> int:
    """The way all rods go between the pools of a day (see Problem.way)."""
    pools: dict[tuple[str, object], list[str]] = defaultdict(list)
    for step in ordered:
        pools[step.rod, step.day].append(step.pool)
    return sum(problem.way(here, there) for day in pools.values() for here, there in pairwise(day))
