"""Balanced designs: rotas that are right by construction, as a start and often as the proof.

Williams squares (E. J. Williams, Australian Journal of Scientific Research A 2, 1949, 149-168): with
n rods, n pools and n parts every rod fishes every pool once and, for even n, follows every other rod
into a pool exactly once. For odd n it takes two squares.
"""

from itertools import combinations

from sessions.rotation.problem import Place, Problem, Step


def williams(n: int) -> list[list[int]]:
    """Rows of a Williams design over 0..n-1: n rows for even n, 2n for odd n."""
    if n < 1:
        raise ValueError("a design has at least one row")
    first = [0] + [n - k // 2 if k % 2 == 0 else (k + 1) // 2 for k in range(1, n)]
    rows = [[(number + row) % n for number in first] for row in range(n)]
    return rows if n % 2 == 0 else rows + [row[::-1] for row in rows]


def square_rota(problem: Problem) -> list[Step] | None:
    """A Williams square as a rota, where rods, pools and parts are as many; else None.

    Row r of the design is rod r; its column s is where the rod is in part s.
    """
    rods, places, slots = problem.rods, problem.down_the_beat, problem.slots
    n = len(rods)
    if not (n == len(places) == len(slots)) or any(len(rod.days) != len(problem.days) for rod in rods):
        return None
    rows = williams(n)
    return [
        Step(*slot, rod.key, places[rows[row][column]].key)
        for row, rod in enumerate(rods)
        for column, slot in enumerate(slots)
    ]


def paired_rota(problem: Problem) -> list[Step] | None:
    """Pools in neighbouring pairs, a pair a day for each rod, all water fresh: for two parts a day.

    Every rod has one pool of a pair in the morning and the other in the afternoon, and another pair
    each day, by a Williams square over the pairs. Needs as many pairs as days and no more rods than
    pairs; the best pools are taken, paired so that the way is short. None where it does not fit.
    """
    pairs_wanted = len(problem.days)
    if len(problem.parts) != 2 or len(problem.rods) > pairs_wanted or len(problem.places) < 2 * pairs_wanted:
        return None
    if any(len(rod.days) != len(problem.days) for rod in problem.rods):
        return None
    best = sorted(problem.places, key=lambda place: (-place.worth, place.order, place.key))[: 2 * pairs_wanted]
    pairs = shortest_pairs(problem, best)
    rows = williams(pairs_wanted)
    return [
        Step(day, part, rod.key, pairs[rows[row][column]][turn].key)
        for row, rod in enumerate(problem.rods)
        for column, day in enumerate(problem.days)
        for turn, part in enumerate(problem.parts)
    ]


def shortest_pairs(problem: Problem, places: list[Place]) -> list[tuple[Place, Place]]:
    """The pools in pairs, the way between the two summed as small as can be.

    Exact, by dynamic programming over the pools still without a partner, up to 16 pools; beyond,
    each pool with its neighbour down the beat.
    """
    down = sorted(places, key=lambda place: (place.order, place.key))
    if len(down) > 16:
        return list(zip(down[::2], down[1::2], strict=True))
    ways = {(a, b): problem.way(down[a].key, down[b].key) for a, b in combinations(range(len(down)), 2)}
    best: dict[int, tuple[int, list[tuple[int, int]]]] = {0: (0, [])}
    everyone = (1 << len(down)) - 1
    for done in range(everyone):
        if done not in best:
            continue
        cost, chosen = best[done]
        a = next(n for n in range(len(down)) if not done >> n & 1)
        for b in range(a + 1, len(down)):
            if not done >> b & 1:
                paired = done | 1 << a | 1 << b
                total = cost + ways[a, b]
                if paired not in best or total < best[paired][0]:
                    best[paired] = (total, [*chosen, (a, b)])
    return [(down[a], down[b]) for a, b in best[everyone][1]]
