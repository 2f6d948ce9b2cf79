"""Invented weeks, and every rota there is of a small one: no solver and no referee in here."""

import datetime as dt
from collections.abc import Iterator
from itertools import product

from sessions.rotation import Place, Problem, Rod, Step

MONDAY = dt.date(2026, 5, 4)
WEEK = tuple(MONDAY + dt.timedelta(days=n) for n in range(6))
MON, TUE, WED = WEEK[:3]


def rod(key, days=WEEK[:2], wading=3, **more):
    return Rod(key, f"Rod {key}", tuple(days), wading, **more)


def place(key, order, worth=10, **more):
    return Place(key, f"Pool {key}", order, **({"holds": 1, "wading": 0, "worth": worth} | more))


def week(rods, places, parts=("am", "pm"), **more):
    """A problem; rods or places given as a word are one for each letter, alike."""
    rods = tuple(rod(key) for key in rods) if isinstance(rods, str) else tuple(rods)
    if isinstance(places, str):
        places = [place(key, order) for order, key in enumerate(places)]
    return Problem(rods, tuple(places), parts, **more)


def rota(problem, **pools):
    """Steps from a letter a part for each rod: a="xy zx"; a dash where the rod is not out."""
    return tuple(
        Step(*slot, key, pool)
        for key, line in pools.items()
        for slot, pool in zip(problem.slots, line.replace(" ", ""), strict=True)
        if pool != "-"
    )


def every_rota(problem: Problem) -> Iterator[tuple[Step, ...]]:
    """All rotas that keep the rules, written down part by part as the rules are told to people."""
    parts = [list(_every_part(problem, slot)) for slot in problem.slots]

    def longer(at: int, so_far: tuple[Step, ...], last: dict[str, Step]) -> Iterator[tuple[Step, ...]]:
        if at == len(parts):
            yield so_far
            return
        for steps in parts[at]:
            if not any(_stays(problem, last.get(step.rod), step) for step in steps):
                yield from longer(at + 1, so_far + steps, last | {step.rod: step for step in steps})

    return longer(0, (), {})


def _every_part(problem, slot):
    out = [each for each in problem.rods if slot[0] in each.days]
    for pools in product(problem.places, repeat=len(out)):
        pairs = list(zip(out, pools, strict=True))
        if all(_may(problem, slot, each, pool) for each, pool in pairs) and _fits(problem, slot, pairs):
            yield tuple(Step(*slot, each.key, pool.key) for each, pool in pairs)


def _stays(problem, before, step):
    return before is not None and before.pool == step.pool and not {before, step} <= problem.fished


def _may(problem, slot, each, pool):
    step = Step(*slot, each.key, pool.key)
    facts = [turn for turn in problem.fished if (turn.rod, turn.slot) == (each.key, slot)]
    if facts:
        return facts == [step]
    elsewhere = any((p.rod, p.slot) == (each.key, slot) and p.pool != pool.key for p in problem.pinned)
    barred = step in problem.barred
    return not elsewhere and not barred and pool.wading <= each.wading and (*slot, pool.key) not in problem.closed


def _fits(problem, slot, pairs):
    """Room, boats, ghillies and company; fished turns are facts, which no rule undoes."""
    fished = [Step(*slot, each.key, pool.key) in problem.fished for each, pool in pairs]

    def keeps(limit, counts):
        fact = sum(count and been for count, been in zip(counts, fished, strict=True))
        return sum(counts) <= max(limit, fact)

    return (
        all(keeps(spot.holds, [pool is spot for _, pool in pairs]) for spot in problem.places)
        and keeps(problem.boats, [pool.boat for _, pool in pairs])
        and keeps(problem.ghillies, [pool.ghillie or each.needs_ghillie for each, pool in pairs])
        and _company(problem, pairs, {each.key for (each, _), been in zip(pairs, fished, strict=True) if been})
    )


def _company(problem, pairs, fished):
    where = {each.key: pool.key for each, pool in pairs}

    def split(a, b):
        return a in where and b in where and where[a] != where[b] and not {a, b} <= fished

    def met(a, b):
        return a in where and where[a] == where.get(b) and not {a, b} <= fished

    return not any(split(*pair) for pair in problem.together) and not any(met(*pair) for pair in problem.apart)
