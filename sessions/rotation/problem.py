"""What the rota is asked: rods, pools, parts of the days, and what may not be."""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from beats.shared import words
from beats.shared.refusals import Refusal

LARGEST = {"rods": 60, "pools": 120, "days": 7, "parts": 6}


class NoRota(Refusal):
    """No rota keeps every rule; the sentence names the cause."""

    code = "no-rota"
    title = "No rota fits"


@dataclass(frozen=True)
class Rod:
    """Somebody's rod over the week. `wading` is the hardest grade they may be sent to (0 to 3)."""

    key: str
    name: str
    days: tuple[dt.date, ...]
    wading: int


@dataclass(frozen=True)
class Place:
    """A pool as the rota sees it. `worth` is what a turn there counts for, 1 and up."""

    key: str
    name: str
    order: int
    holds: int
    wading: int
    worth: int
    boat: bool = False


@dataclass(frozen=True)
class Step:
    """A turn: one rod on one pool in one part of one day."""

    day: dt.date
    part: str
    rod: str
    pool: str


@dataclass(frozen=True)
class Problem:
    """One beat, one week.

    `parts` are the names of the parts of a day, in order. `closed` maps (day, pool key) to why the
    pool is closed that day. `boats` is how many rods can be afloat at once.
    """

    rods: tuple[Rod, ...]
    places: tuple[Place, ...]
    parts: tuple[str, ...]
    closed: Mapping[tuple[dt.date, str], str] = field(default_factory=dict)
    boats: int = 0

    @cached_property
    def days(self) -> tuple[dt.date, ...]:
        return tuple(sorted({day for rod in self.rods for day in rod.days}))

    @cached_property
    def slots(self) -> tuple[tuple[dt.date, str], ...]:
        """Every part of every day, in time."""
        return tuple((day, part) for day in self.days for part in self.parts)

    def may(self, rod: Rod, place: Place, day: dt.date) -> bool:
        """Whether the rod may be sent to the pool on a day, the other rods aside."""
        return place.wading <= rod.wading and (day, place.key) not in self.closed

    def choices(self, rod: Rod, day: dt.date) -> tuple[Place, ...]:
        return tuple(place for place in self.places if self.may(rod, place, day))

    def slots_of(self, rod: Rod) -> Iterator[tuple[dt.date, str]]:
        return ((day, part) for day, part in self.slots if day in rod.days)

    def turns_of(self, rod: Rod) -> int:
        return len(rod.days) * len(self.parts)


def refuse_hopeless(problem: Problem) -> None:
    """Raise NoRota with the cause, for what can be seen without solving."""
    _refuse_size(problem)
    for day in problem.days:
        out = [rod for rod in problem.rods if day in rod.days]
        for rod in out:
            if not problem.choices(rod, day):
                raise NoRota(f"On {words.weekday(day)} there is no open pool that {rod.name} may wade.")
        for grade in sorted({rod.wading for rod in out}):
            group = [rod for rod in out if rod.wading <= grade]
            room = _room(problem, day, grade)
            if len(group) > room:
                names = ", ".join(rod.name for rod in group)
                raise NoRota(
                    f"On {words.weekday(day)} {len(group)} rods need pools of wading grade {grade} or easier, "
                    f"but only {room} can stand there at once: {names}. Open a pool, or raise a guest's grade."
                )


def _room(problem: Problem, day: dt.date, grade: int) -> int:
    """How many rods the open pools of a wading grade or easier hold at once; boats are shared."""
    open_places = [
        place for place in problem.places if place.wading <= grade and (day, place.key) not in problem.closed
    ]
    ashore = sum(place.holds for place in open_places if not place.boat)
    return ashore + min(problem.boats, sum(place.holds for place in open_places if place.boat))


def _refuse_size(problem: Problem) -> None:
    sizes = {
        "rods": len(problem.rods),
        "pools": len(problem.places),
        "days": len(problem.days),
        "parts": len(problem.parts),
    }
    for what, size in sizes.items():
        if size == 0:
            raise NoRota(f"There are no {what} to make a rota of.")
        if size > LARGEST[what]:
            raise NoRota(f"{size} {what} are more than one rota can hold ({LARGEST[what]}). Split the beat.")
