"""Wind on a pool: which way it blows along the river, and over which shoulder to cast.

The rule is to keep fly and line downwind of the angler. Banks are named facing downstream; the angler
faces across the river. From the left bank upstream is then on the right hand, from the right bank on
the left hand. A wind blowing upstream calls for the upstream shoulder, one blowing downstream for the
downstream shoulder. Weather reports give where wind comes FROM; a pool's bearing is where water flows TO.

Sources: articles of the game angling instructors' association (AAPGAI) at aapgai.co.uk, "The Single Spey
Cast", "The Double Spey Cast", "The Snap T & Circle C Casts", "The Snake Roll Cast". The right bank is
their left bank seen in a mirror. Thunder: the Met Office's advice for thunderstorms.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from beats.shared.phrases import say
from beats.water.advice import measured
from beats.water.wind import COMMON_STEPS, FASTEST_MPS, FELT_MPS, Force, Steps, Strength, beaufort, strength_of


class Side(StrEnum):
    """Left or right: a bank facing downstream, an angler's hand or shoulder facing across the river."""

    LEFT = "left"
    RIGHT = "right"

    @property
    def other(self) -> "Side":
        return Side.RIGHT if self is Side.LEFT else Side.LEFT


class Blows(StrEnum):
    """Where the wind blows TO, along the river or across it."""

    UPSTREAM = "upstream"
    DOWNSTREAM = "downstream"
    IN_THE_FACE = "across, in the face"
    FROM_BEHIND = "across, from behind"
    HARDLY = "hardly at all"


class Family(StrEnum):
    """A family of double-handed casts, by the wind they are for."""

    UPSTREAM_WIND = "upstream-wind casts"
    DOWNSTREAM_WIND = "downstream-wind casts"
    EITHER = "either family"


CASTS: dict[Family, tuple[str, ...]] = {
    Family.UPSTREAM_WIND: ("single Spey", "snap T", "circle C"),
    Family.DOWNSTREAM_WIND: ("double Spey", "snake roll"),
    Family.EITHER: ("single Spey", "double Spey"),
}
THUNDER = say(
    "Thunder: stop, lay the rod flat on the ground and leave it, get off the water and "
    "away from tall trees. Carbon rods conduct."
)
BY_STRENGTH: dict[Strength, str] = {
    Strength.LIGHT: say("Gusts come round corners: look at the water before each cast. Wear glasses and a hat."),
    Strength.FRESH: say(
        "Shorten the line and keep it low. A change of wind means a change of shoulder. Wear glasses and a hat."
    ),
    Strength.STRONG: say(
        "A heavy fly in this wind can hit you: short line, low rod, the fly downwind every "
        "time, or wait for it to drop. Wear glasses and a hat."
    ),
    Strength.STOP: say("Too much wind to cast or to keep your feet: come off the water and wait."),
}


@dataclass(frozen=True)
class Casting:
    """What the wind asks of a caster.

    `downstream_mps` is the part of the wind that blows down the river (below 0: up it), `outward_mps` the
    part that blows from the angler's bank over the river (below 0: in the face). `onto` is the side of the
    angler the wind along the river strikes, `shoulder` the one over which fly and line stay downwind; both
    None when too little blows along the river to be felt. `own` says the shoulder is the casting hand's.
    """

    downstream_mps: float
    outward_mps: float
    blows: Blows
    onto: Side | None
    shoulder: Side | None
    family: Family
    own: bool
    force: Force
    strength: Strength
    cautions: tuple[str, ...]

    @property
    def casts(self) -> tuple[str, ...]:
        """Casts of the family, the commonest first."""
        return CASTS[self.family]


def casting(
    *,
    wind_from_deg: float,
    wind_mps: float,
    flow_bearing_deg: float,
    bank: Side,
    hand: Side = Side.RIGHT,
    thunder: bool = False,
    steps: Steps = COMMON_STEPS,
) -> Casting:
    """Over which shoulder to cast in a wind, and how much wind is too much.

    `wind_from_deg` is the bearing the wind comes from, `flow_bearing_deg` the one the water flows towards,
    both 0 to 360 clockwise from north; `wind_mps` the mean wind in m/s; `hand` the one the angler has
    uppermost on the rod by habit. Raises NotAMeasure for anything else, NaN and infinity included.
    """
    force = beaufort(measured("wind_mps", wind_mps, 0, FASTEST_MPS))
    downstream, outward = _parts(wind_from_deg, wind_mps, flow_bearing_deg, bank)
    blows = _blows(downstream, outward)
    shoulder = _shoulder(blows, bank)
    grade = strength_of(force, steps)
    return Casting(
        downstream,
        outward,
        blows,
        onto=shoulder.other if shoulder else None,
        shoulder=shoulder,
        family=_family(blows),
        own=shoulder in (None, hand),
        force=force,
        strength=Strength.STOP if thunder else grade,
        cautions=(THUNDER,) if thunder else _cautions(grade, blows, shoulder, hand),
    )


def _parts(wind_from_deg: float, wind_mps: float, flow_bearing_deg: float, bank: Side) -> tuple[float, float]:
    """Wind along the river, and outward from the bank."""
    towards = measured("wind_from_deg", wind_from_deg, 0, 360) + 180
    turned = math.remainder(towards - measured("flow_bearing_deg", flow_bearing_deg, 0, 360), 360)
    downstream = wind_mps * math.cos(math.radians(turned))
    to_the_right = wind_mps * math.sin(math.radians(turned))  # as seen by one who looks downstream
    return _clean(downstream), _clean(to_the_right if bank is Side.LEFT else -to_the_right)


def _clean(speed_mps: float) -> float:
    """Without the 1e-16 that a sine leaves of nothing, which would differ from bank to bank."""
    return round(speed_mps, 9) + 0.0


def _blows(downstream: float, outward: float) -> Blows:
    """Wind along the river decides wherever it can be felt: it is what brings the fly on to the angler."""
    if abs(downstream) >= FELT_MPS:
        return Blows.DOWNSTREAM if downstream > 0 else Blows.UPSTREAM
    if abs(outward) >= FELT_MPS:
        return Blows.FROM_BEHIND if outward > 0 else Blows.IN_THE_FACE
    return Blows.HARDLY


def _shoulder(blows: Blows, bank: Side) -> Side | None:
    """The downwind shoulder. From the left bank the left shoulder is downstream, from the right the right one."""
    if blows is Blows.DOWNSTREAM:
        return bank
    return bank.other if blows is Blows.UPSTREAM else None


def _family(blows: Blows) -> Family:
    families = {Blows.UPSTREAM: Family.UPSTREAM_WIND, Blows.DOWNSTREAM: Family.DOWNSTREAM_WIND}
    return families.get(blows, Family.EITHER)


def _cautions(strength: Strength, blows: Blows, shoulder: Side | None, hand: Side) -> tuple[str, ...]:
    told = [BY_STRENGTH[strength]]
    if strength is Strength.STOP:
        return tuple(told)  # nobody is to be told how to cast
    told.append(_over(shoulder, hand))
    if blows is Blows.IN_THE_FACE:
        told.append(say("The wind is in your face: drive the line low and do not let the fly fall short on you."))
    if blows is Blows.FROM_BEHIND:
        told.append(
            say("The wind is at your back: it pushes the loop behind you on to you. Keep the rod tip high.")
        )
    return tuple(told)


SIDES = {Side.LEFT: say("left"), Side.RIGHT: say("right")}


def _over(shoulder: Side | None, hand: Side) -> str:
    if shoulder is None:
        return say("Either shoulder will do; watch for a wind along the river.")
    if shoulder is hand:
        return say("Cast over your {shoulder} shoulder, your own.", shoulder=SIDES[shoulder])
    return say(
        "Cast over your {shoulder} shoulder: {shoulder} hand uppermost, or keep the {hand} "
        "uppermost and cast backhanded across your body.",
        shoulder=SIDES[shoulder],
        hand=SIDES[hand],
    )
