"""What the services say, in the language of whoever reads the page."""

import datetime as dt
import re
from decimal import Decimal
from typing import Any

from django.utils import formats, translation

from beats.shared.phrases import in_words

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
    """The sentence in the page's language, or None where it has none there."""
    return in_words(sentence, look=translation.gettext, write=_written)


def or_english(sentence: str) -> str:
    """The same, and English where there is no other."""
    return in_the_reader_s_words(sentence) or str(sentence)


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
