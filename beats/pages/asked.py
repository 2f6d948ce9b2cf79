"""What an address or a form asks for: a day, a month, a year of this age."""

import datetime as dt
import re

from django import forms
from django.core.validators import MaxValueValidator, MinValueValidator

from beats.shared.phrases import say
from beats.shared.refusals import Refusal

FIRST_YEAR, LAST_YEAR = 2015, 2200


class NoSuchTime(Refusal):
    """An address names a month or a year that is none."""

    code = "no-such-time"
    title = say("No such time")
    status = 400


class DayField(forms.DateField):
    """A date of this age, chosen by the browser's own means."""

    def __init__(self, **more) -> None:
        first, last = dt.date(FIRST_YEAR, 1, 1), dt.date(LAST_YEAR, 12, 31)
        super().__init__(
            widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d"),
            validators=[MinValueValidator(first), MaxValueValidator(last)],
            **more,
        )


def year_of(text: str, *, usual: int) -> int:
    """The year that `text` names, or the usual one where it is blank. Raises NoSuchTime."""
    if not text:
        return usual
    if re.fullmatch(r"[0-9]{4}", text) and FIRST_YEAR <= int(text) <= LAST_YEAR:
        return int(text)
    raise NoSuchTime(say("Give a year from {first_year} on, such as {usual}.", first_year=FIRST_YEAR, usual=usual))


def month_of(text: str, *, usual: dt.date) -> dt.date:
    """The first day of the month that `text` names, or of the usual day's where it is blank. Raises NoSuchTime."""
    if not text:
        return usual.replace(day=1)
    named = re.fullmatch(r"([0-9]{4})-(0[1-9]|1[0-2])", text)
    if named and FIRST_YEAR <= int(named[1]) <= LAST_YEAR:
        return dt.date(int(named[1]), int(named[2]), 1)
    raise NoSuchTime(
        say("Give a month from {first_year} on, such as {usual:%Y-%m}.", first_year=FIRST_YEAR, usual=usual)
    )
