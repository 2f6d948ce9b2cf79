"""What to put on for a pool: tip, leader, fly, rod, line, each with its reason and the numbers behind it.

Common practice, no source, unless a suggestion says otherwise. Nothing here promises a fish; the
ghillie's word about a pool goes before all of it.
"""

from collections.abc import Mapping
from dataclasses import replace
from enum import StrEnum

from beats.shared.phrases import joined, say
from beats.water import practice
from beats.water.advice import FROM_MEMORY, Suggestion, Word, overruled
from beats.water.sinking import METRES_PER_FOOT, Sinking, timing
from beats.water.tips import COMMON_WAYS, Choice, Water, Ways, calls_for_the_heaviest, choose_tip


class What(StrEnum):
    """What a suggestion is about: also the key under which a ghillie overrules it."""

    TIP = "tip"
    CARRY = "carry"
    HANDLING = "handling"
    LEADER = "leader"
    TIPPET = "tippet"
    FLY = "fly"
    COLOUR = "colour"
    ROD = "rod"
    LINE = "line"


def suggest(
    water: Water, *, ways: Ways = COMMON_WAYS, words: Mapping[str, Word] | None = None
) -> tuple[Suggestion, ...]:
    """Everything to put on, one suggestion for each `What`, in that order.

    `words` are the ghillie's, by `What`; each replaces the suggestion of that name. Raises NotAWord for a
    name that is none.
    """
    choice = choose_tip(water, ways)
    return overruled(
        (
            _tip(water, choice),
            _carry(choice),
            _handling(water, choice, ways),
            _leader(choice),
            _tippet(water),
            _fly(water),
            _colour(water),
            *_rod_and_line(water),
        ),
        words or {},
    )


def _tip(water: Water, choice: Choice) -> Suggestion:
    if calls_for_the_heaviest(water):
        why = say("Cold spring water and a deep pool usually want the heaviest.")
    elif choice.reaches:
        why = say("The slowest that reckons down to that depth in the time of the swing.")
    else:
        why = say("No tip reckons down to that depth in the time of the swing; this one comes nearest.")
    return Suggestion(What.TIP, choice.tip.name, why, _physics(water, choice), choice.tip.basis)


def _physics(water: Water, choice: Choice) -> str:
    if choice.holding_m == 0:
        return f"Fly wanted just under the surface of {water.depth_m:.2f} m ({water.temperature_words})."
    parts = [
        f"Fly wanted {choice.holding_m:.2f} m down in {water.depth_m:.2f} m ({water.temperature_words})",
        f"that needs {choice.needed_in_s:.1f} in/s on the label",
        choice.sinking.working,
    ]
    if choice.sinking.depth_m >= water.depth_m:
        parts.append("the bed is nearer than that: expect to touch it")
    if choice.hanging_m is not None and choice.hanging_m < water.depth_m:
        parts.append(f"a tight line at the end of the swing hangs at about {choice.hanging_m:.2f} m")
    if choice.tip.grains_per_foot and choice.tip.length_m:
        parts.append(
            f"the tip weighs {_grains(choice.tip.grains_per_foot * choice.tip.length_m / METRES_PER_FOOT)}"
        )
    return "; ".join(parts) + "."


def _carry(choice: Choice) -> Suggestion:
    return Suggestion(
        What.CARRY, practice.CARRY, say("Pools differ, and the river changes."), f"Now: {choice.tip.name}."
    )


def _handling(water: Water, choice: Choice, ways: Ways) -> Suggestion:
    more = replace(ways.swing, mends=min(ways.swing.mends + 1, 10), steps=min(ways.swing.steps + 2, 10))
    bought = Sinking(
        choice.tip.label_in_s, timing(width_m=water.width_m, velocity_mps=water.velocity_mps, swing=more)
    )
    working = f"One mend and two steps more: {choice.sinking.depth_m:.2f} m becomes {bought.depth_m:.2f} m."
    if water.velocity_mps < practice.SLOW_MPS:
        text, why = (
            say("work the fly: draw line by hand"),
            say("water of {velocity_mps:g} m/s hardly moves it", velocity_mps=water.velocity_mps),
        )
    elif choice.reaches:
        text, why = (
            say("let it swing; mend upstream once if the line bellies"),
            say("a belly drags the fly up and round"),
        )
    else:
        text, why = (
            say("one or two upstream mends and a couple of steps after the cast"),
            say("slack line buys depth"),
        )
    return Suggestion(What.HANDLING, text, say("Usual, because {why}.", why=why), working)


def _leader(choice: Choice) -> Suggestion:
    bounds = [(bound, (text, why)) for bound, text, why in practice.LEADERS]
    text, why = practice.row_for(choice.tip.label_in_s, bounds)
    return Suggestion(What.LEADER, text, say("Usual, because {why}.", why=why), f"For {choice.tip.name}.")


def _tippet(water: Water) -> Suggestion:
    if water.month in practice.SPRING:
        return Suggestion(
            What.TIPPET, say("about 15 lb"), say("Big flies and big fish are usual in spring."), "By the month."
        )
    return Suggestion(
        What.TIPPET, say("10 to 12 lb"), say("Smaller flies swim better on it."), "By the month.", FROM_MEMORY
    )


def _fly(water: Water) -> Suggestion:
    text, why = practice.row_for(water.reckoned_c, [(bound, (text, why)) for bound, text, why in practice.FLIES])
    if water.cold_spring:
        weight = say("heavy, copper-bodied")
    elif water.cold:
        weight = say("of middling weight")
    else:
        weight = say("light")
    working = f"By {water.temperature_words}, in {_MONTHS[water.month - 1]}."
    return Suggestion(
        What.FLY, joined((text, weight), ", "), say("Usual, because {why}.", why=why), working, FROM_MEMORY
    )


def _colour(water: Water) -> Suggestion:
    text, why, basis = practice.COLOURS[water.clarity or practice.Clarity.CLEAR]
    working = f"Water {water.clarity}." if water.clarity else "How clear the water is is not known; clear taken."
    return Suggestion(What.COLOUR, text, say("Usual, because {why}.", why=why), working, basis)


def _rod_and_line(water: Water) -> tuple[Suggestion, Suggestion]:
    bounds = [(bound, (text, why, line)) for bound, text, why, line in practice.RODS]
    rod, why, line = practice.row_for(water.width_m, bounds)
    grains = practice.HEAD_GRAINS[line]
    weight = (
        f"A shooting head of that number weighs about {grains} grains ({grains * practice.GRAMS_PER_GRAIN:.1f} g)."
    )
    return (
        Suggestion(What.ROD, rod, say("Usual on {why}.", why=why), f"{water.width_m:g} m wide."),
        Suggestion(
            What.LINE,
            say("number {line}, if rod and reel are marked for it", line=line),
            say("Usual with {rod}.", rod=rod),
            weight,
        ),
    )


def _grains(weight: float) -> str:
    return f"{weight:.0f} grains ({weight * practice.GRAMS_PER_GRAIN:.1f} g)"


_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
