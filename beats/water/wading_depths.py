"""How deep each wading grade allows a person to stand, and what follows when the water is deeper.

A grade of a pool or of a guest is a height on the body. The heights are those of a small adult, so that
most people are shorter in the water than the rule assumes.

Back of the knee: 0.355 m, women's 5th percentile, British aged 19 to 65; hip: 0.715 m, the lowest 5th
percentile found, women of Hong Kong (personal.cityu.edu.hk/meachan, online anthropometry, tables 16 and 5).
Thigh: half way between (common practice, no source). Waist: 0.60 of the stature of 1.505 m, British women's
5th percentile (both figures from memory; Pheasant, "Bodyspace"). The steps by which deeper water raises the
verdict are our own judgement, no source.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum

from beats.shared.phrases import say
from beats.water.figures import reached


class WadingGrade(IntEnum):
    """How deep someone may be sent: the grades of a pool's and a guest's wading."""

    BANK = 0
    EASY = 1
    FAIR = 2
    HARD = 3


KNEE_M, HIP_M, WAIST_M = 0.35, 0.71, 0.90
THIGH_M = (KNEE_M + HIP_M) / 2
STANDS_IN: dict[WadingGrade, tuple[str, float]] = {
    WadingGrade.BANK: ("Bank", 0.0),
    WadingGrade.EASY: ("Knee", KNEE_M),
    WadingGrade.FAIR: ("Thigh", THIGH_M),
    WadingGrade.HARD: ("Hip", HIP_M),
}
"""Part of the body and its height in metres, for each grade."""
NEXT_HEIGHT_M = {
    WadingGrade.BANK: 0.0,
    WadingGrade.EASY: THIGH_M,
    WadingGrade.FAIR: HIP_M,
    WadingGrade.HARD: WAIST_M,
}
"""Above the grade's own height the water is hazardous; above this one, a body part higher, it is out of bounds."""
BODY_PARTS = {
    WadingGrade.BANK: say("the bank"),
    WadingGrade.EASY: say("the knee"),
    WadingGrade.FAIR: say("the thigh"),
    WadingGrade.HARD: say("the hip"),
}
TOO_DEEP_STEPS, FAR_TOO_DEEP_STEPS = 2, 3
SOURCE = "body heights of a small adult: online anthropometry (personal.cityu.edu.hk/meachan), tables 16 and 5"


@dataclass(frozen=True)
class TooDeep:
    """Water deeper than a grade allows: the sentence, `steps` the verdict rises, the grade's height in metres."""

    sentence: str
    steps: int
    limit_m: float


def known_grade(grade: int | None) -> WadingGrade:
    """A grade that nobody gave is the easiest that wades, never a harder one."""
    return WadingGrade.EASY if grade is None else WadingGrade(grade)


def too_deep(depth_m: float, *, pool: int | None, own: int | None, measured: bool = True) -> Iterator[TooDeep]:
    """What each of the two grades says of water `depth_m` deep today; nothing where it is not deeper.

    `measured`: the depth is the one where an angler stands. Where nobody measured that, the depth is the
    pool's where it is fished: it shows that the standing depth is unknown, not that it is out of bounds.
    """
    if steps := _steps(depth_m, known_grade(pool), measured=measured):
        yield TooDeep(_of_the_pool(depth_m, known_grade(pool), measured=measured), steps, _limit(pool))
    if steps := _steps(depth_m, known_grade(own), measured=measured):
        yield TooDeep(_of_the_wader(depth_m, own, measured=measured), steps, _limit(own))


def _limit(grade: int | None) -> float:
    return STANDS_IN[known_grade(grade)][1]


def _steps(depth_m: float, grade: WadingGrade, *, measured: bool) -> int:
    if reached(STANDS_IN[grade][1], depth_m):
        return 0
    return FAR_TOO_DEEP_STEPS if measured and not reached(NEXT_HEIGHT_M[grade], depth_m) else TOO_DEEP_STEPS


def _of_the_pool(depth_m: float, grade: WadingGrade, *, measured: bool) -> str:
    facts = {"depth": depth_m, "part": BODY_PARTS[grade], "limit": STANDS_IN[grade][1]}
    if not measured:
        return say(
            "How deep it is where one stands was not measured. It is {depth:.2f} m where it is fished, and the "
            "pool is graded to {part} ({limit:.2f} m): ask the ghillie where to stand.",
            **facts,
        )
    return say(
        "Stay on the bank: today it is {depth:.2f} m deep where one stands, and the pool is graded to "
        "{part} ({limit:.2f} m on a small adult).",
        **facts,
    )


def _of_the_wader(depth_m: float, own: int | None, *, measured: bool) -> str:
    facts = {"depth": depth_m, "part": BODY_PARTS[known_grade(own)], "limit": _limit(own)}
    if own is None:
        return say(
            "How deep you may wade is not known, so it is taken as to {part} ({limit:.2f} m on a small adult). "
            "It is {depth:.2f} m deep today: ask the ghillie first.",
            **facts,
        )
    if not measured:
        return say(
            "You wade to {part} ({limit:.2f} m on a small adult); it is {depth:.2f} m deep where it is fished, "
            "and not measured where one stands: ask the ghillie first.",
            **facts,
        )
    return say(
        "Too deep for you: you wade to {part} ({limit:.2f} m on a small adult), and it is {depth:.2f} m deep "
        "where one stands. Stay on the bank.",
        **facts,
    )
