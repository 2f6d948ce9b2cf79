"""What the rota is asked: rods, pools, parts of the days, what may not be, and what is wanted most."""

import datetime as dt
import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cached_property

from beats.shared.phrases import say
from beats.shared.refusals import Refusal

Slot = tuple[dt.date, str]
"""A part of a day."""


class NoRota(Refusal):
    """No rota keeps every rule; the sentence names the cause."""

    code = "no-rota"
    title = "No rota fits"


class Policy(StrEnum):
    """What the fishery wants most of its rota."""

    ALL_THE_WATER = "all-the-water"
    BEST_WATER = "best-water"


class Goal(StrEnum):
    """What a rota is judged by, one after the other."""

    CHANGES = say("turns changed")
    REPEATS = say("second visits to a pool")
    WORST = say("worth of the worst-off rod")
    SPREAD = say("best-off above worst-off")
    FOLLOW = say("following the same rod again")
    FIRST = say("unequal shares of fresh water")
    WALK = say("way between pools")


SHARED_ENDING = (Goal.FOLLOW, Goal.FIRST, Goal.WALK)
ORDER = {
    Policy.ALL_THE_WATER: (Goal.REPEATS, Goal.WORST, Goal.SPREAD, *SHARED_ENDING),
    Policy.BEST_WATER: (Goal.WORST, Goal.SPREAD, Goal.REPEATS, *SHARED_ENDING),
}
"""The documented order. When a rota is mended, the fewest changed turns come before all of it."""


@dataclass(frozen=True)
class Rod:
    """Somebody's rod over the week. `wading` is the hardest grade they may be sent to (0 to 3).

    Two guests who share a rod are one Rod, with the easier of their gradings.
    """

    key: str
    name: str
    days: tuple[dt.date, ...]
    wading: int
    needs_ghillie: bool = False


@dataclass(frozen=True)
class Place:
    """A pool as the rota sees it.

    `worth` is what a turn on it counts for, 1 and up, and `holds` how many rods it takes at once;
    `worth_by_part` and `holds_by_part` replace them in parts of the day that differ. `east_m`, `north_m`
    say where it lies; without them `order` down the beat does.
    """

    key: str
    name: str
    order: int
    holds: int
    wading: int
    worth: int
    boat: bool = False
    ghillie: bool = False
    worth_by_part: Mapping[str, int] = field(default_factory=dict)
    holds_by_part: Mapping[str, int] = field(default_factory=dict)
    east_m: float | None = None
    north_m: float | None = None

    def worth_in(self, part: str) -> int:
        return self.worth_by_part.get(part, self.worth)

    def holds_in(self, part: str) -> int:
        return self.holds_by_part.get(part, self.holds)


@dataclass(frozen=True)
class Discounts:
    """Percent taken off a turn's worth. Adjustable; the defaults are common practice, no source."""

    second_hand: int = 30
    """The pool was fished already that day."""
    second_visit: int = 20
    """The rod fishes the pool a second time in the week."""
    later_visit: int = 40
    """A third time, and every time after."""


@dataclass(frozen=True)
class Step:
    """A turn: one rod on one pool in one part of one day."""

    day: dt.date
    part: str
    rod: str
    pool: str

    @property
    def slot(self) -> Slot:
        return self.day, self.part


@dataclass(frozen=True)
class Problem:
    """One beat, one week.

    `parts` are the names of the parts of a day, in order. `closed` maps (day, part, pool key) to why
    the pool is closed then. `boats` and `ghillies` are how many are free at once. `together` and
    `apart` are pairs of rod keys that must, or must not, fish the same pool at the same time.
    `fished` are turns that have been: facts, which no rule undoes. `pinned` are turns somebody wants so,
    within the rules; `barred` turns that may not be.
    `former` is the rota that is being mended: its turns are kept where they can be.
    """

    rods: tuple[Rod, ...]
    places: tuple[Place, ...]
    parts: tuple[str, ...]
    closed: Mapping[tuple[dt.date, str, str], str] = field(default_factory=dict)
    boats: int = 0
    ghillies: int = 0
    together: frozenset[tuple[str, str]] = frozenset()
    apart: frozenset[tuple[str, str]] = frozenset()
    fished: frozenset[Step] = frozenset()
    pinned: frozenset[Step] = frozenset()
    barred: frozenset[Step] = frozenset()
    former: frozenset[Step] = frozenset()
    policy: Policy = Policy.ALL_THE_WATER
    discounts: Discounts = Discounts()

    @cached_property
    def goals(self) -> tuple[Goal, ...]:
        return (Goal.CHANGES, *ORDER[self.policy]) if self.former else ORDER[self.policy]

    @cached_property
    def days(self) -> tuple[dt.date, ...]:
        return tuple(sorted({day for rod in self.rods for day in rod.days}))

    @cached_property
    def slots(self) -> tuple[Slot, ...]:
        """Every part of every day, in time."""
        return tuple((day, part) for day in self.days for part in self.parts)

    @cached_property
    def rod(self) -> dict[str, Rod]:
        return {rod.key: rod for rod in self.rods}

    @cached_property
    def place(self) -> dict[str, Place]:
        return {place.key: place for place in self.places}

    @cached_property
    def fact_of(self) -> dict[tuple[str, Slot], str]:
        return {(step.rod, step.slot): step.pool for step in self.fished}

    @cached_property
    def pin_of(self) -> dict[tuple[str, Slot], str]:
        return {(step.rod, step.slot): step.pool for step in self.pinned}

    @cached_property
    def facts_at(self) -> Counter[tuple[Slot, str]]:
        """How many rods have fished a pool in a part: what has been done is not undone by a rule."""
        return Counter((step.slot, step.pool) for step in self.fished)

    def room_on(self, slot: Slot, place: Place) -> int:
        """Rods a pool holds in a part, or as many as have already been there."""
        return max(place.holds_in(slot[1]), self.facts_at[slot, place.key])

    def boats_at(self, slot: Slot) -> int:
        """Boats free in a part, or as many as fished turns have already taken."""
        return max(self.boats, sum(self.place[turn.pool].boat for turn in self.fished if turn.slot == slot))

    def ghillies_at(self, slot: Slot) -> int:
        """Ghillies free in a part, or as many as fished turns have already taken."""
        return max(self.ghillies, sum(self.led(turn) for turn in self.fished if turn.slot == slot))

    def led(self, step: Step) -> bool:
        """Whether a turn takes a ghillie: once, though both the pool and the rod want one."""
        return self.place[step.pool].ghillie or self.rod[step.rod].needs_ghillie

    def slots_of(self, rod: Rod) -> list[Slot]:
        return [slot for slot in self.slots if slot[0] in rod.days]

    def turns_of(self, rod: Rod) -> int:
        return len(rod.days) * len(self.parts)

    def choices(self, rod: Rod, slot: Slot) -> list[Place]:
        """The pools the rod may be sent to then, the other rods aside, down the beat.

        A fished turn has one choice, whatever is closed since; a pinned one has one at most.
        """
        fact, pin = self.fact_of.get((rod.key, slot)), self.pin_of.get((rod.key, slot))
        if fact is not None:
            return [self.place[fact]]
        return [
            place
            for place in self.down_the_beat
            if pin in (None, place.key)
            and place.wading <= rod.wading
            and (*slot, place.key) not in self.closed
            and Step(*slot, rod.key, place.key) not in self.barred
        ]

    @cached_property
    def down_the_beat(self) -> tuple[Place, ...]:
        return tuple(sorted(self.places, key=lambda place: (place.order, place.key)))

    @cached_property
    def measured(self) -> bool:
        """Whether every pool says where it lies, so that ways are metres and not pools passed."""
        return all(place.east_m is not None and place.north_m is not None for place in self.places)

    def way(self, here: str, there: str) -> int:
        """From one pool to another: tens of metres as the crow flies, or pools passed."""
        a, b = self.place[here], self.place[there]
        if a.east_m is None or a.north_m is None or b.east_m is None or b.north_m is None or not self.measured:
            return abs(a.order - b.order)
        return round(math.hypot(a.east_m - b.east_m, a.north_m - b.north_m) / 10)
