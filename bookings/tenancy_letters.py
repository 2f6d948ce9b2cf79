"""The words of the letters to those for whom weeks are held. English, as all letters are."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from beats.shared import words
from bookings.papers.parts import one_line


@dataclass(frozen=True)
class HeldWeek:
    """One week held: `answer_by` is the first instant that is too late, in the zone of the river."""

    beat: str
    first_on: dt.date
    last_on: dt.date
    rods: int
    answer_by: dt.datetime
    from_waiting_list: bool


def until(answer_by: dt.datetime) -> str:
    """The last moment to answer in words: a whole day where the time ends at midnight."""
    if answer_by.time() == dt.time():
        last = answer_by.date() - dt.timedelta(days=1)
        return f"the end of {words.weekday(last)} {last.year}"
    return f"{words.instant(answer_by)} {answer_by.year}"


def letter(
    *, fishery: str, name: str, year: int, weeks: Sequence[HeldWeek], page: str, reminder: bool
) -> tuple[str, str]:
    """Subject and text. `weeks` has at least one week; `page` is the address at which the guest answers."""
    soonest = min(weeks, key=lambda week: week.answer_by)
    one = len(weeks) == 1
    title = "Reminder: " if reminder else ""
    what = f"your {'week' if one else 'weeks'} in {year}"
    subject = f"{title}{one_line(fishery)}: {what}, answer by {until(soonest.answer_by)}"
    lines = [
        f"Dear {one_line(name)},",
        "",
        f"Please answer by {until(soonest.answer_by)}.",
        "",
        f"{one_line(fishery)} holds for you in {year}:",
        *(_line(week) for week in weeks),
        "",
        f"To accept or decline, sign in with this e-mail address: {page}",
        "Or tell the fishery by phone or post.",
        "",
        "If you do not answer in time, " + ("the week is" if one else "each week is") + " offered to others.",
    ]
    return subject, "\n".join(lines) + "\n"


def _line(week: HeldWeek) -> str:
    span = f"{words.weekday(week.first_on)} to {words.weekday(week.last_on)} {week.last_on.year}"
    if week.first_on == week.last_on:
        span = f"{words.weekday(week.first_on)} {week.last_on.year}"
    rods = "1 rod" if week.rods == 1 else f"{week.rods} rods"
    why = "from the waiting list" if week.from_waiting_list else "as last year's tenant"
    return f"- {one_line(week.beat)}: {span}, {rods}, {why}. Answer by {until(week.answer_by)}."
