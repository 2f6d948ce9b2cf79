"""What salmon anglers commonly do, as tables: tips, leaders, flies, colours, rods, lines.

Common practice, no source, unless a row says otherwise. The tables hold data only; `tackle` reads them.
A row stands for its bound and everything above, up to the next row's bound.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import TypeVar

from beats.shared.phrases import say
from beats.water.advice import COMMON_PRACTICE, FROM_MEMORY

Row = TypeVar("Row")


class Clarity(StrEnum):
    """How clear the water is."""

    CLEAR = "clear"
    PEAT = "peat-stained"
    COLOURED = "coloured"


@dataclass(frozen=True)
class Tip:
    """A tip or line; `label_in_s` is the sink rate sold under, in inches a second.

    `grains_per_foot` names tungsten tips; `rule` is the published rule number for the depth of a tight line
    (flyfishingresearch.net, page 40), None where none was found. The rates of tungsten are from memory.
    """

    name: str
    label_in_s: float
    length_m: float | None = 3.048
    grains_per_foot: int | None = None
    rule: float | None = None
    basis: str = COMMON_PRACTICE


def _tungsten(grains: int, label_in_s: float, rule: float | None = None) -> Tip:
    name = say(
        "a 10 ft tungsten tip of {grains} grains a foot, about {label_in_s:g} inches a second",
        grains=grains, label_in_s=label_in_s,
    )  # fmt: skip
    return Tip(name, label_in_s, grains_per_foot=grains, rule=rule, basis=FROM_MEMORY)


TIPS = (
    Tip(say("a floating line"), 0.0, length_m=None),
    Tip(say("an intermediate tip, about 1 inch a second"), 1.0, rule=16),
    Tip(say("a tip of about 3 inches a second"), 3.0, rule=10),
    Tip(say("a tip of about 5 inches a second"), 5.0, rule=9.1),
    _tungsten(10, 7.0),
    _tungsten(12, 8.0),
    _tungsten(14, 9.0, rule=6),
)
"""The slowest first."""
CARRY = say("three, not ten: a floating or intermediate line, a tip of 3 to 4 inches a second, and one heavy tip")

SPRING = (1, 2, 3, 4, 5)
SUMMER = (6, 7, 8, 9)
COLD_BELOW_C = 10.0
"""The pivot: from 10 C up a fly some 18 inches down will do (flyfishing-and-flytying.co.uk, "Sink Tip Tips")."""
SURFACE_FROM_C = 15.0
MIDWATER_M = 0.46
DEEP_POOL_M = 1.8
SLOW_MPS = 0.4

LEADERS = (
    (0.0, say("9 to 12 ft (2.7 to 3.7 m)"), say("the fly is to swim away from a line that floats")),
    (1.0, say("8 to 11 ft (2.5 to 3.5 m)"), say("an intermediate sinks little, so the fly may be far from it")),
    (
        3.0,
        say("about an arm's span, 5 to 6 ft (1.5 to 1.8 m)"),
        say("on a long leader the fly rides above a sinking tip"),
    ),
)

FLIES = (
    (-2.0, say("a big tube, 2 to 3 inches"), say("cold fish take a big fly seen close by")),
    (6.0, say("a tube of 1 to 1.5 inches"), say("the water is cold, but not at its coldest")),
    (COLD_BELOW_C, say("a double or treble of size 8 to 10"), say("in milder water fish move to a smaller fly")),
    (
        SURFACE_FROM_C,
        say("a double of size 10 to 14"),
        say("in warm water fish look at small flies near the surface"),
    ),
)

COLOURS = {
    Clarity.CLEAR: (say("black and yellow"), say("the two tell apart in clear water"), COMMON_PRACTICE),
    Clarity.PEAT: (say("black, orange and yellow"), say("orange shows in peat-stained water"), COMMON_PRACTICE),
    Clarity.COLOURED: (
        say("bright orange or yellow, a size bigger"),
        say("it must be seen before it is past"),
        FROM_MEMORY,
    ),
}

RODS = (
    (0.0, say("12 to 13 ft"), say("a small or medium river"), 8),
    (40.0, say("14 ft"), say("a big river"), 9),
    (70.0, say("15 to 16 ft"), say("a very big river"), 10),
)
"""From width in metres: rod, why, line number. The widths are ours."""

HEAD_GRAINS = {6: 250, 7: 300, 8: 360, 9: 430, 10: 510, 12: 700}
"""Grains of a two-handed shooting head by line number: the trade association's (AFFTA) fly line table."""
GRAMS_PER_GRAIN = 0.06479891


def row_for(value: float, rows: Sequence[tuple[float, Row]]) -> Row:
    """The last row whose bound is not above the value; the first for anything below."""
    found = rows[0]
    for row in rows:
        if found[0] <= row[0] <= value:
            found = row
    return found[1]
