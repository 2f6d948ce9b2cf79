"""Sentences that remember how they were made, so that a page can say them in another language.

A sentence is English wherever it is stored, sent or logged: a `Phrase` is a `str`. It also keeps its pattern and
what was put in; `in_words` looks the pattern up in a catalogue and puts the same facts in again. Pure Python: the
catalogue and the way numbers and days are written are handed in.
"""

import string
from collections.abc import Callable
from typing import Any, Self

Look = Callable[[str], str]
Write = Callable[[Any, str], str]


class Phrase(str):
    """An English sentence, its pattern (in the words of `str.format`) and the facts in it."""

    __slots__ = ("facts", "pattern")
    pattern: str
    facts: dict[str, Any]

    def __new__(cls, pattern: str, facts: dict[str, Any]) -> Self:
        made = super().__new__(cls, pattern.format(**facts) if facts else pattern)
        made.pattern, made.facts = pattern, facts
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        return Phrase, (self.pattern, self.facts)


def say(pattern: str, **facts: Any) -> Phrase:
    """`pattern` with `facts` put in. The pattern is a literal, since the catalogue is gathered from the code.

    A pattern without facts is taken as it is, braces and all.
    """
    return Phrase(pattern, facts)


class Joined(Phrase):
    """Several in a row, phrases among them."""

    def __new__(cls, between: str, parts: list[str]) -> Self:
        made = str.__new__(cls, between.join(parts))
        made.pattern, made.facts = between, {"parts": parts}
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        return Joined, (self.pattern, self.facts["parts"])


def joined(parts: Any, between: str = " ") -> Joined:
    """As `between.join(parts)`, and every part is still known for what it is."""
    return Joined(between, list(parts))


class Opening(Phrase):
    """A phrase at the beginning of a sentence: its first letter is a capital in any language."""

    def __new__(cls, phrase: str) -> Self:
        made = str.__new__(cls, phrase[:1].upper() + phrase[1:])
        made.pattern, made.facts = "", {"phrase": phrase}
        return made

    def __reduce__(self) -> tuple[Any, ...]:
        return Opening, (self.facts["phrase"],)


def in_words(sentence: str, *, look: Look, write: Write) -> str | None:
    """`sentence` in the catalogue's language, or None when any of it is not there.

    `look` gives the catalogue's pattern for an English one (the same, where it has none); `write` a fact by its
    format: a day, a number.
    """
    if isinstance(sentence, Joined):
        said = [_fact(part, look, write) for part in sentence.facts["parts"]]
        return None if None in said else sentence.pattern.join(said)
    if isinstance(sentence, Opening):
        inner = in_words(sentence.facts["phrase"], look=look, write=write)
        return inner and inner[:1].upper() + inner[1:]
    if not isinstance(sentence, Phrase) or (pattern := look(sentence.pattern)) == sentence.pattern:
        return None
    facts = {}
    for name, fact in sentence.facts.items():
        if (inner := _fact(fact, look, write)) is None:
            return None
        facts[name] = inner
    return _Writer(write).vformat(pattern, (), facts) if facts else pattern


def _fact(fact: Any, look: Look, write: Write) -> Any:
    """What is not a phrase, such as a name, is the same in every language."""
    return in_words(fact, look=look, write=write) if isinstance(fact, Phrase) else fact


class _Writer(string.Formatter):
    """`str.format`, with days and numbers written as the language does."""

    def __init__(self, write: Write) -> None:
        self.write = write

    def format_field(self, value: Any, format_spec: str) -> str:
        return self.write(value, format_spec)
