"""Was a history of claims possible one at a time? Judged for each day of a beat by itself.

A day is a set of rod numbers. Each act lies somewhere between its call and its answer; the history is
good when some order of the acts, true to those spans, explains every answer (Herlihy and Wing 1990,
"Linearizability"; the search is Wing and Gong's, 1993, with states already seen left out; from memory).
A history of many days is good when that of each day is (locality, the same paper).
"""

from collections.abc import Sequence
from dataclasses import dataclass

Rods = frozenset[int]


@dataclass(frozen=True)
class Act:
    """One answered call on one day. A claim and a release name their rods; a loser was told how many are left."""

    begun: float
    ended: float
    kind: str  # "claim", "release" or "refused"
    rods: Rods = frozenset()
    left: int = 0


def after(taken: Rods, act: Act, on_beat: int) -> Rods | None:
    """The day after an act; None when the act could not have answered so."""
    if act.kind == "claim":
        return taken | act.rods if not taken & act.rods else None
    if act.kind == "release":
        return taken - act.rods if act.rods <= taken else None
    return taken if on_beat - len(taken) == act.left else None


def possible(acts: Sequence[Act], *, on_beat: int) -> bool:
    """Whether the acts of one day have an order that explains them."""
    order = sorted(acts, key=lambda act: act.begun)
    seen: set[tuple[frozenset[int], Rods]] = set()
    todo: list[tuple[frozenset[int], Rods]] = [(frozenset(range(len(order))), frozenset())]
    while todo:
        left, taken = state = todo.pop()
        if not left:
            return True
        if state in seen:
            continue
        seen.add(state)
        todo += _next(order, left, taken, on_beat)
    return False


def _next(order: Sequence[Act], left: frozenset[int], taken: Rods, on_beat: int):
    """States one act further on. A refusal that fits changes nothing, so it is always right to take it now."""
    horizon = min(order[at].ended for at in left)
    found = []
    for at in sorted(left):
        if order[at].begun > horizon:
            break
        then = after(taken, order[at], on_beat)
        if then is None:
            continue
        if then == taken:
            return [(left - {at}, taken)]
        found.append((left - {at}, then))
    return found
