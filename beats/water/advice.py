"""What one piece of advice is made of, and the refusal of a number that is no measure."""

from collections.abc import Mapping
from dataclasses import dataclass

from beats.shared.phrases import say
from beats.shared.refusals import Refusal

COMMON_PRACTICE = "common practice, no source"
FROM_MEMORY = "common practice, no source (from memory)"


class NotAMeasure(Refusal, ValueError):
    """A depth, speed, bearing or temperature that no river has: not a number, endless, or out of bounds."""

    code = "not-a-measure"
    title = "Not a measure"
    status = 422


def measured(name: str, value: float, low: float, high: float) -> float:
    """The value, when it lies from `low` to `high`, both included; NaN and infinity never do.

    `name` carries the unit (`depth_m`). Raises NotAMeasure, which names the field and the bounds.
    """
    if not low <= value <= high:
        sentence = f"{name} is a number from {low:g} to {high:g}, not {value}. Correct it and ask again."
        raise NotAMeasure(sentence, errors={name: [f"from {low:g} to {high:g}"]})
    return value


HEADINGS = {
    "tip": say("tip"), "carry": say("carry"), "handling": say("handling"), "leader": say("leader"),
    "tippet": say("tippet"), "fly": say("fly"), "colour": say("colour"), "rod": say("rod"), "line": say("line"),
    "big stones": say("big stones"), "croys": say("croys"),
    "edge of the fast stream": say("edge of the fast stream"), "wide and shallow": say("wide and shallow"),
}  # fmt: skip


@dataclass(frozen=True)
class Suggestion:
    """One piece of advice: what it is about, the advice, why, the numbers behind it and on what it rests.

    `said_by` names the person whose word replaced the reckoning; empty where none did.
    """

    what: str
    text: str
    why: str
    working: str
    basis: str = COMMON_PRACTICE
    said_by: str = ""

    @property
    def heading(self) -> str:
        """What it is about, for a reader; `what` is the name on the wire."""
        return HEADINGS.get(self.what, self.what)


@dataclass(frozen=True)
class Word:
    """What a ghillie says about a pool in place of a reckoned suggestion."""

    text: str
    by: str

    def __post_init__(self) -> None:
        if not self.text.strip() or not self.by.strip():
            raise NotAWord("Write what to do instead, and whose word it is; or take the entry away.")


class NotAWord(Refusal, ValueError):
    """A ghillie's word that is empty, or about a thing on which nothing is suggested."""

    code = "not-a-word"
    title = "No such advice to replace"
    status = 422


def overruled(suggestions: tuple[Suggestion, ...], words: Mapping[str, Word]) -> tuple[Suggestion, ...]:
    """The suggestions, with the ghillie's word wherever there is one.

    The reckoning stays to be seen in `working`. Raises NotAWord for a word about nothing suggested.
    """
    known = [suggestion.what for suggestion in suggestions]
    strange = sorted(set(words) - set(known))
    if strange:
        sentence = f"Nothing is suggested about {', '.join(strange)}. Write about one of: {', '.join(known)}."
        raise NotAWord(sentence, errors={what: ["not suggested here"] for what in strange})
    return tuple(_overruled(one, words.get(one.what)) for one in suggestions)


def _overruled(reckoned: Suggestion, word: Word | None) -> Suggestion:
    if word is None:
        return reckoned
    return Suggestion(
        reckoned.what,
        word.text,
        why=f"{word.by} knows this pool.",
        working=f"Reckoned instead: {reckoned.text}. {reckoned.working}",
        basis=f"the word of {word.by}",
        said_by=word.by,
    )
