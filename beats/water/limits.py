"""Depth and speed of water against what has been published about people standing in it.

Each rule gives its own ruling, with its number, its threshold and where that comes from. Thresholds
nobody has yet read in the source itself are marked `from_memory`. A value on a threshold has reached
it. Which of our grades a published class means is our own reading, stated beside each rule.

All of these were made for floods, floodways and gaugers, on even ground; none for an angler on stones.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from enum import StrEnum

from beats.water.figures import DEPTH_M, VELOCITY_MPS, figure, reached

SQUARE_FOOT_M2 = 0.3048**2
SHALLOW_DEBRIS_M = 0.25


class Grade(StrEnum):
    """How hazardous a pool is to wade. Our own scale; the first four run from least to most."""

    USUAL_CARE = "usual care"
    EXTRA_CARE = "extra care"
    HAZARDOUS = "hazardous"
    STAY_OUT = "stay out"
    NOT_KNOWN = "not known"

    @property
    def severity(self) -> int:
        """0 to 3. What is not known has none of these: ValueError."""
        try:
            return PLACES[self]
        except KeyError:
            raise ValueError("what is not known is neither more nor less hazardous") from None

    def raised(self, steps: int) -> "Grade":
        """This grade some steps up, at most the top."""
        return SCALE[min(self.severity + steps, len(SCALE) - 1)]


SCALE = [Grade.USUAL_CARE, Grade.EXTRA_CARE, Grade.HAZARDOUS, Grade.STAY_OUT]
PLACES = {grade: place for place, grade in enumerate(SCALE)}


class Wader(StrEnum):
    """Who stands in the water, by height times mass (m x kg)."""

    ADULT = "adult"
    CHILD = "child"
    FRAIL = "small child or frail person"


def wader(height_m: float, mass_kg: float) -> Wader:
    """The class of a person: above 50 m.kg adult, above 25 child, else frail.

    Source: as for the stability limits below (Cox, Shand and Blacka 2010), from memory.
    """
    product = figure(height_m, "height", "m", (0.4, 2.6)) * figure(mass_kg, "weight", "kg", (2, 300))
    if product > 50:
        return Wader.ADULT
    return Wader.CHILD if product > 25 else Wader.FRAIL


@dataclass(frozen=True)
class Ruling:
    """What one rule says: `value` against `threshold`, both in `unit`.

    `threshold` is the highest one reached, or the first when none is (`reached` tells which).
    """

    rule: str
    value: float
    threshold: float
    reached: bool
    unit: str
    grade: Grade
    source: str
    edition: str
    from_memory: bool

    @property
    def sentence(self) -> str:
        how = "has reached" if self.reached else "is under"
        doubt = " (threshold from memory)" if self.from_memory else ""
        return f"{self.rule}: {self.value:.2f} {self.unit} {how} {self.threshold:.2f}{doubt}: {self.grade}."


@dataclass(frozen=True)
class Rule:
    """A published rule: what it measures, and the grade from each threshold up, lowest first."""

    name: str
    unit: str
    value: Callable[[float, float, bool], float]
    steps: tuple[tuple[float, Grade], ...]
    source: str
    edition: str
    from_memory: bool = True

    def on(self, depth_m: float, velocity_mps: float, *, debris: bool) -> Ruling:
        value = self.value(depth_m, velocity_mps, debris)
        threshold, grade, hit = self.steps[0][0], Grade.USUAL_CARE, False
        for step, meaning in self.steps:
            if reached(value, step):
                threshold, grade, hit = step, meaning, True
        return Ruling(
            self.name, value, threshold, hit, self.unit, grade, self.source, self.edition, self.from_memory
        )


def debris_factor(depth_m: float, *, debris: bool) -> float:
    """What the hazard rating adds for things carried by the flood: 0 without, 0.5 up to 0.25 m, else 1.

    Source: the supplementary note of 2008, from memory.
    """
    if not debris:
        return 0.0
    return 0.5 if depth_m <= SHALLOW_DEBRIS_M else 1.0


def hazard_rating(depth_m: float, velocity_mps: float, debris: bool) -> float:
    """HR = d (v + 0.5) + DF, in m2/s; d in metres, v in m/s.

    Source: Defra and Environment Agency flood hazard rating, as stated in the Flood Modeller
    documentation, "Hazard mapping", which cites Defra's note of May 2008.
    """
    return depth_m * (velocity_mps + 0.5) + debris_factor(depth_m, debris=debris)


def rulings(
    depth_m: float, velocity_mps: float, *, who: Wader = Wader.ADULT, debris: bool = False
) -> tuple[Ruling, ...]:
    """Every rule's word on water `depth_m` deep and `velocity_mps` fast. Raises BadFigure.

    `debris`: whether branches and the like come down with the water (the hazard rating asks).
    """
    depth_m, velocity_mps = _water(depth_m, velocity_mps)
    return tuple(rule.on(depth_m, velocity_mps, debris=debris) for rule in RULES[who])


def strictest(given: Iterable[Ruling]) -> Grade:
    """The gravest grade among rulings; at least one is wanted."""
    return max((ruling.grade for ruling in given), key=lambda grade: grade.severity)


def _water(depth_m: float, velocity_mps: float) -> tuple[float, float]:
    depth_m = figure(depth_m, "depth", "m", DEPTH_M)
    return depth_m, figure(velocity_mps, "speed of the water", "m/s", VELOCITY_MPS)


def _product(depth_m: float, velocity_mps: float, _debris: bool) -> float:
    return depth_m * velocity_mps


def _depth(depth_m: float, _velocity_mps: float, _debris: bool) -> float:
    return depth_m


def _velocity(_depth_m: float, velocity_mps: float, _debris: bool) -> float:
    return velocity_mps


M2S = "m²/s"
PEOPLE = "Australian Rainfall and Runoff, Revision Project 10 (Cox, Shand and Blacka)"
STAGE_1 = "Stage 1 report P10/S1/006, April 2010"
TALK = "R. Cox, Flood hazards to pedestrians and vehicles (slides)"
RATING = "Defra and Environment Agency, flood hazard rating d(v + 0.5) + debris factor"
OLD_EDITION = "FD2321, 2006: top threshold 2.5"
NOTE_2008 = "supplementary note, May 2008: top threshold 2.0"


def _ratings(*first: tuple[float, Grade]) -> tuple[Rule, ...]:
    """The same rating in both editions; they part at the top threshold only."""
    return tuple(
        Rule("Flood hazard rating", M2S, hazard_rating, (*first, (top, Grade.STAY_OUT)), RATING, edition)
        for top, edition in ((2.0, NOTE_2008), (2.5, OLD_EDITION))
    )


GAUGERS = Rule(
    "Gaugers' wading rule, depth times speed under 10 square feet a second",
    M2S,
    _product,
    ((10 * SQUARE_FOOT_M2, Grade.STAY_OUT),),
    "Cross or drown, traditional-knowledge.tk/water/cross-or-drown",
    "web page without a date; that stream gaugers use it is from memory",
    from_memory=False,
)

FLOODWAY = Rule(
    "Floodway limit, depth times speed",
    M2S,
    _product,
    ((0.4, Grade.EXTRA_CARE),),
    "Cox, Yee and Ball 2004, and the slides of R. Cox",
    "older Australian Rainfall and Runoff, before Project 10",
    from_memory=False,
)

# "Hard and dangerous" is the source's word, so hazardous here; the depth is a limit of its own below.
EMERGENCY_ADVICE = (
    Rule(
        "Wading by adults, still water",
        "m",
        _depth,
        ((1.2, Grade.HAZARDOUS),),
        TALK,
        "2011, quoting Emergency Management Australia",
        from_memory=False,
    ),
    Rule(
        "Wading by adults, shallow water",
        "m/s",
        _velocity,
        ((0.8, Grade.HAZARDOUS),),
        TALK,
        "2011, quoting Emergency Management Australia",
        from_memory=False,
    ),
)

# Published classes: low, moderate, significant, extreme.
ADULTS = (
    Rule(
        "Stability of adults, depth times speed",
        M2S,
        _product,
        ((0.6, Grade.EXTRA_CARE), (0.8, Grade.HAZARDOUS), (1.2, Grade.STAY_OUT)),
        PEOPLE,
        STAGE_1,
    ),
    Rule("Stability of adults, depth", "m", _depth, ((1.2, Grade.STAY_OUT),), PEOPLE, STAGE_1),
    Rule("Stability of adults, speed", "m/s", _velocity, ((3.0, Grade.STAY_OUT),), PEOPLE, STAGE_1),
)

# Published classes: low, significant, extreme.
CHILDREN = (
    Rule(
        "Stability of children, depth times speed",
        M2S,
        _product,
        ((0.4, Grade.HAZARDOUS), (0.6, Grade.STAY_OUT)),
        PEOPLE,
        STAGE_1,
    ),
    Rule("Stability of children, depth", "m", _depth, ((0.5, Grade.STAY_OUT),), PEOPLE, STAGE_1),
    Rule("Stability of children, speed", "m/s", _velocity, ((3.0, Grade.STAY_OUT),), PEOPLE, STAGE_1),
)

FRAIL = (
    Rule(
        "Stability of small children and frail people, any flow",
        M2S,
        _product,
        ((0.0, Grade.STAY_OUT),),
        PEOPLE,
        STAGE_1,
    ),
)

# 0.75 is "danger for some", children and the infirm among them; 1.25 "for most"; the top "for all".
COMMON = (*EMERGENCY_ADVICE, FLOODWAY, GAUGERS)
WEAKER = (*_ratings((0.75, Grade.STAY_OUT), (1.25, Grade.STAY_OUT)), *COMMON)
RULES: dict[Wader, tuple[Rule, ...]] = {
    Wader.ADULT: (*ADULTS, *_ratings((0.75, Grade.EXTRA_CARE), (1.25, Grade.HAZARDOUS)), *COMMON),
    Wader.CHILD: (*CHILDREN, *WEAKER),
    Wader.FRAIL: (*FRAIL, *WEAKER),
}
