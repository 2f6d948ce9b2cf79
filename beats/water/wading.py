"""Is a pool fit to wade today? One grade, the rulings behind it, and what the figures cannot see.

The strictest ruling on depth and speed gives the grade of the water. Who wades and what else is known
then raises it; the largest step counts, they are not added up, or a lone angler in a cold spring would
be told the same every day. The steps are our own judgement, no source, save where one is named.

Nothing here says that anyone will come to no harm.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from beats.shared.phrases import say
from beats.water.figures import WATER_C, figure, reached
from beats.water.hydraulics import Flow, NotKnown
from beats.water.limits import Grade, Ruling, Wader, rulings, strictest

TO_THE_TOP = 3
OWN = "our own judgement, no source"
BEATS_OWN = "the beat's own setting"
COMMON_PRACTICE = "common practice, no source"
RISE_M_PER_H = (-1000.0, 1000.0)
SHOWS_A_RISE_M_PER_H = 0.005
"""Half a centimetre an hour: a smaller rate is shown as 0.00."""

CANNOT_SEE = say(
    "These figures know nothing of the bed, of rain upstream or of a sudden rise: a wave "
    "can come between two readings of the gauge. Ask the ghillie; if in doubt, stay out."
)


class Trust(StrEnum):
    """What today's level is worth."""

    FRESH = "fresh"
    STALE = "stale"
    UNKNOWN = "unknown"
    DISTRUSTED = "distrusted"
    UNCONFIRMED = "unconfirmed"
    STUCK = "stuck"


NO_LEVEL = {
    Trust.STALE: say(
        "The last reading of the river is old, so nothing can be said of this pool. Look at the river."
    ),
    Trust.UNKNOWN: say(
        "The height of the river is not known, so nothing can be said of this pool. Look at it first."
    ),
    Trust.DISTRUSTED: (
        say(
            "The gauge jumped further than a river should. It is at fault, or a flood wave has "
            "come: stay out of the water until somebody has looked at the river."
        )
    ),
    Trust.STUCK: say(
        "The gauge has not moved for far longer than is usual here and may be stuck, so nothing can be said of "
        "this pool. Look at the river first."
    ),
}
UNCONFIRMED = say(
    "The newest level is not confirmed yet. This is worked out for the higher level: look at the river first."
)
RISING = say("The river is rising: come out of the water now and stay out.")
RISE_UNCONFIRMED = say(
    "The river rose suddenly or the gauge was misread: come out until the next reading and look at the river."
)
BELOW_A_DAM = say(
    "Below a dam, a weir or a sluice no gauge can warn in time: water may be let go at any moment. If the river "
    "rises, colours or sounds different, get out at once."
)
"""Standing advice wherever a level is shown; common practice, no source."""
FLAT = say("The gauge has not moved for a long time and may be stuck: compare it with the river before you wade.")


@dataclass(frozen=True)
class Thresholds:
    """The beat's own settings. No public body gives a rate of rise for waders: None until the fishery sets it.

    `cold_c`: cold from this temperature down (common practice, no source). `rise_m_per_h`: rising at or
    above this is time to come out.
    """

    cold_c: float = 10.0
    rise_m_per_h: float | None = None

    def __post_init__(self) -> None:
        figure(self.cold_c, "temperature that counts as cold", "°C", WATER_C)
        if self.rise_m_per_h is not None:
            figure(self.rise_m_per_h, "rate of rise that is too fast", "m/h", (0.01, 10))


@dataclass(frozen=True)
class Setting:
    """Who wades, and what else is known of the day; None is "not known", and is said so.

    `water_c` in °C; `rise_m_per_h` negative when falling; `bottom_seen` False in coloured water;
    `new_here`: the first time on this water. `flat`: the gauge may be stuck. `rising`: an onset
    stands; `rise_unconfirmed`: one reading stepped up, and the next has not come yet. `own_grade` and
    `pool_grade`, 0 from the bank to 3 deep, fast or rough: what the wader is used to, and what the pool asks.
    """

    who: Wader = Wader.ADULT
    alone: bool = False
    new_here: bool = False
    bottom_seen: bool | None = None
    water_c: float | None = None
    rise_m_per_h: float | None = None
    debris: bool = False
    flat: bool = False
    rising: bool | None = None
    rise_unconfirmed: bool = False
    thresholds: Thresholds = Thresholds()
    own_grade: int | None = None
    pool_grade: int | None = None

    def __post_init__(self) -> None:
        if self.water_c is not None:
            figure(self.water_c, "temperature of the water", "°C", WATER_C)
        if self.rise_m_per_h is not None:
            figure(self.rise_m_per_h, "rate of rise", "m/h", RISE_M_PER_H)


@dataclass(frozen=True)
class Caution:
    """A sentence, how many steps it raises the grade, and the figures and the source it rests on, if any."""

    sentence: str
    steps: int = 0
    value: float | None = None
    threshold: float | None = None
    unit: str = ""
    source: str = OWN
    edition: str = ""
    from_memory: bool = False
    age_minutes: int | None = None


@dataclass(frozen=True)
class Verdict:
    """`grade` is what to show; `water` is the grade of depth and speed alone (None when not known)."""

    grade: Grade
    water: Grade | None
    rulings: tuple[Ruling, ...]
    told: tuple[Caution, ...]

    @property
    def cautions(self) -> tuple[str, ...]:
        return tuple(caution.sentence for caution in self.told)


def verdict(flow: Flow | NotKnown, level: Trust, setting: Setting) -> Verdict:
    """The grade of a pool for one wader, with every ruling and caution, the gravest caution first.

    An unconfirmed level is graded like a fresh one, from the flow at the level to assume, and raised by a step.

    A level that is stale, unknown or distrusted, or a pool whose depth is not known, has the grade "not
    known" whatever else is known, and no rulings: figures from a level nobody trusts look like an answer.
    """
    found = sorted(_cautions(setting), key=lambda caution: -caution.steps)  # stable: else in the order told
    told = (*found, Caution(CANNOT_SEE))
    if level is Trust.UNCONFIRMED:
        found, level = [Caution(UNCONFIRMED, 1), *found], Trust.FRESH
        told = (*found, Caution(CANNOT_SEE))
    if level is not Trust.FRESH:
        return Verdict(Grade.NOT_KNOWN, None, (), (Caution(NO_LEVEL[level]), *told))
    if isinstance(flow, NotKnown):
        return Verdict(Grade.NOT_KNOWN, None, (), (Caution(flow.why), *told))
    given = rulings(flow.depth_m, flow.velocity_mps, who=setting.who, debris=setting.debris)
    water = strictest(given)
    return Verdict(water.raised(max((caution.steps for caution in found), default=0)), water, given, told)


def _cautions(setting: Setting) -> Iterator[Caution]:
    if setting.flat:
        yield Caution(FLAT, 1)
    yield from _rise(setting)
    yield from _clarity(setting)
    yield from _cold(setting)
    yield from _grades(setting)
    if setting.alone:
        yield Caution(
            say("You are alone: check in before you wade, wear a lifejacket, wade less than you could."),
            1,
            source='Water Safety Scotland, "Angling": tell someone where you are and when you will be back',
        )
    if setting.new_here:
        yield Caution(
            say("You have not fished here before: ask the ghillie where the bed is good, and where not."), 1
        )


def too_fast(rate: float | None, limit: float | None) -> str | None:
    """The sentence for a river that rises at or above the beat's threshold (m/h); None when it does not."""
    if rate is None or limit is None or not reached(rate, limit):
        return None
    return say(
        "The river is rising {rate:.2f} m an hour; here {limit:.2f} is too fast. Come out and stay out.",
        rate=rate,
        limit=limit,
    )


def rising_words(rate: float | None) -> str:
    """The sentence for an onset; the rate (m/h) is left out where it is unknown or no longer shows a rise."""
    if rate is None or rate <= SHOWS_A_RISE_M_PER_H:
        return RISING
    return say("The river is rising {rate:.2f} m an hour: come out of the water now and stay out.", rate=rate)


def _rise(setting: Setting) -> Iterator[Caution]:
    rate, limit = setting.rise_m_per_h, setting.thresholds.rise_m_per_h
    if setting.rise_unconfirmed and not setting.rising:
        yield Caution(RISE_UNCONFIRMED, TO_THE_TOP)
        return
    if setting.rising and not too_fast(rate, limit):
        yield Caution(rising_words(rate), TO_THE_TOP, value=rate, threshold=limit, unit="m/h")
        return
    if rate is None:
        yield Caution(say("Whether the river is rising is not known: put a stone at the edge and watch it."))
        return
    facts: dict[str, Any] = {"value": rate, "threshold": limit, "unit": "m/h", "source": BEATS_OWN}
    if sentence := too_fast(rate, limit):
        yield Caution(sentence, TO_THE_TOP, **facts)
    elif rate > SHOWS_A_RISE_M_PER_H:
        yield Caution(
            say("The river is rising {rate:.2f} m an hour: keep your way back in sight.", rate=rate), **facts
        )


def _clarity(setting: Setting) -> Iterator[Caution]:
    if setting.bottom_seen is None:
        yield Caution(say("Whether the bottom can be seen is not known: where you cannot see it, do not wade."))
    elif not setting.bottom_seen:
        yield Caution(
            say("The water is coloured and the bottom is not seen: do not wade where you cannot see it."),
            2,
            source='Fishing in Wales, "Safety" (a local page): never wade in coloured water',
        )


def _cold(setting: Setting) -> Iterator[Caution]:
    limit = setting.thresholds.cold_c
    if setting.water_c is None:
        yield Caution(say("The temperature of the water is not known: take it as cold."))
    elif setting.water_c <= limit:
        yield Caution(
            say(
                "The water is cold ({water_c:.0f} °C). If you fall in, float and get your breath first.",
                water_c=setting.water_c,
            ),
            1,
            value=setting.water_c,
            threshold=limit,
            unit="°C",
            source='RoSPA, "Angling safety" (2018), for what to do; the temperature is the beat\'s own setting',
        )


def _grades(setting: Setting) -> Iterator[Caution]:
    own, pool = setting.own_grade, setting.pool_grade
    if pool == 0:
        sentence = say("Nobody wades this pool: it is fished from the bank or a boat. Stay out of the water.")
        yield Caution(sentence, TO_THE_TOP, source="the fishery's own grades")
    elif own is not None and pool is not None and pool > own:
        yield Caution(
            say(
                "This pool is graded harder to wade than you are: stay on the bank, or have the "
                "ghillie beside you."
            ),
            2,
            value=float(pool),
            threshold=float(own),
            unit="grade",
            source="the fishery's own grades",
        )
