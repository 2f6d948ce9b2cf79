"""Where fish usually lie, by what a pool is made of. Common practice, no source; no promise of a fish."""

from collections.abc import Iterable
from enum import StrEnum

from beats.shared.phrases import say
from beats.water.advice import NotAWord, Suggestion


class Feature(StrEnum):
    """What makes a lie."""

    STONES = "big stones"
    CROYS = "croys"
    STREAM_EDGE = "edge of the fast stream"
    WIDE_SHALLOW = "wide and shallow"


ADVICE: dict[Feature, tuple[str, str]] = {
    Feature.STONES: (
        say("Fish ahead of, beside and behind each big stone."),
        say("The water is slower in front of a stone and in its lee, and fish rest there."),
    ),
    Feature.CROYS: (
        say("Fish the edges of the croys, where fast water meets slow."),
        say("A croy throws the stream out and leaves slack water beside it."),
    ),
    Feature.STREAM_EDGE: (
        say("Fish the edges of the fast stream rather than its middle."),
        say("Fish lie where they need not fight the current."),
    ),
    Feature.WIDE_SHALLOW: (
        say("Fish the deep side of the pool, and leave the shallow side be."),
        say("In a wide shallow pool the depth is where fish have cover."),
    ),
}


def lies(features: Iterable[Feature | str]) -> tuple[Suggestion, ...]:
    """A line of advice for each feature, once, in the order of Feature; none for a pool without any.

    Raises NotAWord for a feature there is no advice on.
    """
    known = set(map(_feature, features))
    return tuple(
        Suggestion(feature, *ADVICE[feature], working=f"This pool has: {feature}.")
        for feature in Feature
        if feature in known
    )


def _feature(name: Feature | str) -> Feature:
    try:
        return Feature(name)
    except ValueError:
        sentence = f"No lie is known by the name of {name!r}. Choose from: {', '.join(Feature)}."
        raise NotAWord(sentence, errors={"features": [f"one of {', '.join(Feature)}"]}) from None
