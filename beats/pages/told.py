"""What the services say, in the language of whoever reads the page."""

import datetime as dt
import re
from decimal import Decimal
from typing import Any

from django.utils import formats
from django.utils.translation import trans_real

from beats.shared.phrases import Phrase, in_words

DAYS = {
    "%d": "d",
    "%B": "F",
    "%b": "M",
    "%A": "l",
    "%a": "D",
    "%Y": "Y",
    "%H": "H",
    "%M": "i",
    "%m": "m",
    "%Z": "T",
}
"""The directives of strftime that sentences use, as Django's date format has them: it knows the months' names."""


def in_the_reader_s_words(sentence: str) -> str | None:
    """The sentence in the page's language, or None where it has none there.

    One that was stored has forgotten how it was made; where nothing was put in, it is still in the catalogue.
    """
    phrase = sentence if isinstance(sentence, Phrase) else Phrase(str(sentence), {})
    return in_words(phrase, look=_looked_up, write=_written)


def or_english(sentence: str) -> str:
    """The same, and English where there is no other."""
    return in_the_reader_s_words(sentence) or str(sentence)


def _looked_up(pattern: str) -> str | None:
    """A pattern that is the same in both languages is in the catalogue too; beside nothing its header is kept."""
    return trans_real.catalog()._catalog.get(pattern or None)  # noqa: SLF001 - no public way tells "the same" from "not there"


def _written(fact: Any, by: str) -> str:
    if isinstance(fact, dt.date | dt.time) and by:
        return re.sub("%[a-zA-Z]", lambda found: formats.date_format(fact, DAYS[found[0]]), by)
    if isinstance(fact, float | Decimal):
        return _number(fact, by)
    return format(fact, by)


def _number(number: float | Decimal, by: str) -> str:
    """As the format has it, with the language's own decimal sign."""
    sign = formats.get_format("DECIMAL_SEPARATOR")
    return format(number, by).replace(".", sign)
