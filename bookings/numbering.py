"""Which rod numbers a let takes: the same ones every day where it can be."""

import datetime as dt
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet


def choose(
    days: Sequence[dt.date],
    *,
    taken: Mapping[dt.date, AbstractSet[int]],
    on_beat: int,
    wanted: int,
    start: int = 0,
) -> dict[dt.date, list[int]] | None:
    """For each day `wanted` free rod numbers of 1..`on_beat`, or None when some day has too few.

    Numbers free on every day come first, so that a party keeps its rods; within that, the lowest,
    counted round the beat from number `start` + 1.
    """
    free = {day: [rod for rod in range(1, on_beat + 1) if rod not in taken.get(day, ())] for day in days}
    always = set.intersection(*(set(rods) for rods in free.values())) if days else set()
    chosen = {
        day: sorted(rods, key=lambda rod: (rod not in always, (rod - 1 - start) % on_beat))[:wanted]
        for day, rods in free.items()
    }
    return chosen if all(len(rods) == wanted for rods in chosen.values()) else None


def full_days(
    days: Sequence[dt.date], *, taken: Mapping[dt.date, AbstractSet[int]], on_beat: int, wanted: int
) -> list[tuple[dt.date, int]]:
    """The days with fewer than `wanted` rods free, each with how many are."""
    left = [(day, on_beat - len(taken.get(day, ()))) for day in days]
    return [(day, max(count, 0)) for day, count in left if count < wanted]
