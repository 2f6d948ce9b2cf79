"""What no rota can pass, found without searching for one.

A rota that meets a bound is proven best for that goal, however it was found.
"""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from sessions.rotation.problem import Problem, Rod

MOST_PAIRED = 13


def least_repeats(problem: Problem) -> int:
    """A rod with more turns than pools it may ever be sent to must come back to some."""
    return sum(max(0, problem.turns_of(rod) - len(_ever(problem, rod))) for rod in problem.rods)


def most_for_the_worst_off(problem: Problem, *, repeats: int | None) -> Fraction:
    """No rod's worth per turn can be the smallest and above this.

    Each rod alone on the river, everything fresh: its best turns, where a second visit to a pool
    costs the discount. When the number of second visits in the whole rota is settled (`repeats`), a
    rod can make at most those the other rods are not bound to make.

    And all of them together: however the water is shared out, the worst-off of a group of rods has no
    more than the group's average, and the group no more than the best turns there are, where a pool is
    fresh once a day for each rod it holds and takes each rod as often as second visits allow.
    """
    grades = sorted({rod.wading for rod in problem.rods})
    alone = [_alone(problem, rod, repeats) for rod in problem.rods]
    shared = [_shared(problem, [rod for rod in problem.rods if rod.wading <= grade], repeats) for grade in grades]
    return min([*alone, *shared], default=Fraction(0))


def least_walk(problem: Problem, *, repeats: int | None) -> int:
    """The way nobody can go below.

    Every move goes at least to the nearest other pool, since no rod stays for two turns, unless it has
    done so. With two parts a day and no pool visited twice, a rod's days are pairs of pools without one
    in common, so that the shortest such pairs bound it closer (up to 13 pools; beyond, the first bound
    stands).
    """
    nearest = min(
        (problem.way(a.key, b.key) for a in problem.places for b in problem.places if a.key != b.key), default=0
    )
    if repeats == 0 and len(problem.parts) == 2 and len(problem.places) <= MOST_PAIRED:
        seen: dict[tuple[frozenset[str], int], int] = {}
        total = 0
        for rod in problem.rods:
            case = (frozenset(_ever(problem, rod)), len(rod.days))
            if case not in seen:
                seen[case] = shortest_pairing(problem, sorted(case[0]), case[1])
            total += seen[case]
        return total
    return nearest * sum(_moves(problem, rod) for rod in problem.rods)


def _moves(problem: Problem, rod: Rod) -> int:
    """How often the rod changes pools within a day; only fished turns may keep it where it is."""
    facts = [[problem.fact_of.get((rod.key, (day, part))) for part in problem.parts] for day in rod.days]
    return sum(here is None or here != there for day in facts for here, there in pairwise(day))


def shortest_pairing(problem: Problem, keys: list[str], wanted: int) -> int:
    """The least way summed over `wanted` pairs of pools with none in common."""
    best: dict[int, dict[int, int]] = {0: {0: 0}}  # pools dealt with, in order -> pairs made -> way
    everyone = (1 << len(keys)) - 1
    for done in range(everyone):
        for count, cost in best.pop(done, {}).items():
            a = next(n for n in range(len(keys)) if not done >> n & 1)
            ends = [(done | 1 << a, count, cost)]
            if count < wanted:
                ends += [
                    (done | 1 << a | 1 << b, count + 1, cost + problem.way(keys[a], keys[b]))
                    for b in range(a + 1, len(keys))
                    if not done >> b & 1
                ]
            for mask, pairs, total in ends:
                there = best.setdefault(mask, {})
                there[pairs] = min(total, there.get(pairs, total))
    return best.get(everyone, {}).get(wanted, 0)


def binding(problem: Problem) -> list[tuple[str, Fraction, int]]:
    """Which rule costs most, by the bounds: (rule, worth gained, second visits saved) without it.

    Each kind of rule is lifted in turn; those that change nothing are left out.
    """
    freer = {
        "wading grades": replace(problem, rods=tuple(replace(rod, wading=3) for rod in problem.rods)),
        "closed pools": replace(problem, closed={}),
        "turns pinned or barred by hand": replace(problem, pinned=frozenset(), barred=frozenset()),
    }
    base = (most_for_the_worst_off(problem, repeats=None), least_repeats(problem))
    found = []
    for rule, other in freer.items():
        gain = most_for_the_worst_off(other, repeats=None) - base[0]
        saved = base[1] - least_repeats(other)
        if gain or saved:
            found.append((rule, gain, saved))
    return sorted(found, key=lambda row: (-row[2], -row[1], row[0]))


def _shared(problem: Problem, group: list[Rod], repeats: int | None) -> Fraction:
    """The best average worth per turn a group of rods could have with the rest of the river to itself."""
    turns = sum(problem.turns_of(rod) for rod in group)
    offers: list[int] = []
    for place in problem.places:
        able = [rod for rod in group if place.key in _ever(problem, rod)]
        days = sorted({day for rod in able for day in rod.days})
        slots = [(day, part) for day in days for part in problem.parts]
        open_slots = [
            slot for slot in slots if (*slot, place.key) not in problem.closed or problem.facts_at[slot, place.key]
        ]
        if not open_slots:
            continue
        worth = 100 * max(place.worth_in(part) for _, part in open_slots)
        room = max(problem.room_on(slot, place) for slot in open_slots)
        most = len(open_slots) * room
        if repeats is not None:
            most = min(most, len(able) + repeats)
        fresh = min(most, len({day for day, _ in open_slots}) * room)
        used = worth * (100 - problem.discounts.second_hand) // 100
        offers += [worth] * fresh + [used] * (most - fresh)
    best = sorted(offers, reverse=True)[:turns]
    return Fraction(sum(best), 100 * turns)


def _ever(problem: Problem, rod: Rod) -> set[str]:
    return {place.key for slot in problem.slots_of(rod) for place in problem.choices(rod, slot)}


def _alone(problem: Problem, rod: Rod, repeats: int | None) -> Fraction:
    """The best worth per turn the rod could have with nobody else on the river."""
    turns = problem.turns_of(rod)
    worth = dict.fromkeys(_ever(problem, rod), 0)
    for slot in problem.slots_of(rod):
        for place in problem.choices(rod, slot):
            worth[place.key] = max(worth[place.key], place.worth_in(slot[1]))
    must = max(0, turns - len(worth))
    may = turns if repeats is None else max(must, repeats - least_repeats(problem) + must)
    cut = problem.discounts
    once = sorted((100 * points for points in worth.values()), reverse=True)
    base = {key: problem.place[key].worth for key in worth}
    again = sorted((100 * worth[key] - cut.second_visit * base[key] for key in worth), reverse=True)
    later = max((100 * worth[key] - cut.later_visit * base[key] for key in worth), default=0)
    extra = [*again, *[max(later, 0)] * turns]
    best = max(
        sum(once[: turns - visits]) + sum(sorted(extra, reverse=True)[:visits])
        for visits in range(must, min(may, turns) + 1)
    )
    return Fraction(best, 100 * turns)
