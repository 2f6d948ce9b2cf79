"""What to look at before a return is signed.

The officials query what is missing, catch outside the legal season, and mean weights outside set
limits ("Salmon & Sea Trout catches", gov.scot). Their limits were not found; the bands here are
those of `sessions.plausible`. A true figure may be odd, so a question is settled by a correction or by the owner's
answer; only a month without a record keeps a return from being signed (`sessions.month_records`).
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any

from beats.shared.phrases import Phrase, say
from sessions.effort import MonthEffort
from sessions.month_records import Record, month_name
from sessions.monthly import CLASSES, METHODS, MONTHS, Cell, Month
from sessions.plausible import MEAN_WEIGHTS_KG, ODD_WEIGHTS_KG
from sessions.snapshot import adds_up

MANY = 20
"""From so many fish on a mean is held against published means; below that, against what one fish may weigh."""


@dataclass(frozen=True)
class Finding:
    """A question: a stable code, the month (None for the season), a sentence, and the owner's answer, if given."""

    code: str
    month: int | None
    sentence: str
    answer: str = ""


@dataclass(frozen=True)
class Asked:
    """What the book holds that a season's review asks about, in numbers; months count from 1.

    `outside` are fish dated outside the season, `flagged` those that the law or a house rule speaks against,
    `doubtful` fish of unlikely size by month, `open_outings` those never checked out by month. `begun` are the
    months that have begun.
    """

    outside: int = 0
    flagged: int = 0
    doubtful: Mapping[int, int] = field(default_factory=dict)
    open_outings: Mapping[int, int] = field(default_factory=dict)
    begun: Collection[int] = range(1, 13)


CODES = frozenset({
    "no-record", "no-effort", "effort-differs", "no-weight", "mean-weight", "doubtful-size", "open-outing",
    "out-of-season", "flagged", "monthly-totals", "two-books", "does-not-add",
})  # fmt: skip
ONLY_BY_RECORD = frozenset({"no-record", "does-not-add"})
"""Questions that no answer in words settles."""


def review(
    rows: Iterable[Month], made: Mapping[str, Any], asked: Asked, *, effort: Iterable[MonthEffort] = ()
) -> list[Finding]:
    """Findings by month, then those of the season."""
    rows, efforts = list(rows), {each.month: each for each in effort}
    found = [
        Finding("no-record", row.month, _no_record(row.month, efforts.get(row.month)))
        for row in rows
        if not row.recorded and row.month in asked.begun
    ]
    found += [finding for row in rows for finding in _of_month(row)]
    found += _of_effort(list(efforts.values()))
    for month, fish in sorted(asked.doubtful.items()):
        told = say("{month}: {fish} fish of unlikely length or weight.", month=month_name(month), fish=fish)
        found.append(Finding("doubtful-size", month, told))
    for month, count in sorted(asked.open_outings.items()):
        told = say("{month}: {count} outings never checked out.", month=month_name(month), count=count)
        found.append(Finding("open-outing", month, told))
    if asked.outside:
        found.append(
            Finding("out-of-season", None, f"{_fish(asked.outside)} dated outside the season or on a Sunday.")
        )
    if asked.flagged:
        against = f"{_fish(asked.flagged)} flagged: on a closed day, or kept unlawfully."
        found.append(Finding("flagged", None, against))
    if not adds_up(made):
        found.append(Finding("does-not-add", None, "The months do not add up to the totals."))
    return found


def with_answers(findings: Iterable[Finding], answers: Mapping[tuple[str, int | None, str], str]) -> list[Finding]:
    """The findings with the owner's answers, by code, month and the sentence that was asked."""
    return [replace(one, answer=answers.get((one.code, one.month, str(one.sentence)), "")) for one in findings]


def _no_record(month: int, effort: MonthEffort | None) -> Phrase:
    name = month_name(month)
    if effort and effort.checked_in:
        return say(
            "{month}: anglers seen on {days} days, no fish on record. State that none was caught, or enter it.",
            month=name, days=effort.checked_in,
        )  # fmt: skip
    if effort and effort.counted:
        return say(
            "{month}: {days} rod-days, and no fish on record. State what happened, or enter the fish.",
            month=name,
            days=effort.counted,
        )
    return say("{month}: no record. State no fishing, or fished and none caught; or enter the fish.", month=name)


def from_old_books(fish: int, totals: int, books: Sequence[str]) -> list[Finding]:
    """Where a season has monthly totals instead of fish; or both, and only the fish are counted."""
    if books and not fish:
        told = f"The fish are monthly totals from {', '.join(books)}; nobody knows them one by one."
        return [Finding("monthly-totals", None, told)]
    if not (fish and totals):
        return []
    told = f"The book has {fish} fish of this season, and an old book's monthly totals of {totals}."
    return [Finding("two-books", None, f"{told} The fish alone are counted. Take out the one that is not true.")]


def _of_effort(effort: list[MonthEffort]) -> list[Finding]:
    """Months the owner has not spoken of, where those let are not those seen; if check-ins are in use at all."""
    if not any(each.checked_in for each in effort):
        return []
    return [
        Finding(
            "effort-differs", each.month,
            f"{MONTHS[each.month - 1]}: {each.booked} rod-days let, {each.checked_in} seen on the water. "
            "Say which it was, and why.",
        )
        for each in effort
        if each.difference and each.decided is None
    ]  # fmt: skip


def _fish(count: int) -> str:
    return "1 fish is" if count == 1 else f"{count} fish are"


def _of_month(row: Month) -> list[Finding]:
    found = []
    caught = sum(cell.number for kinds in row.cells.values() for cell in kinds.values())
    unweighed = sum(cell.unweighed for kinds in row.cells.values() for cell in kinds.values())
    if caught and not row.rod_days:
        found.append(
            Finding("no-effort", row.month, f"{row.name}: {caught} fish and no rod-day. Who was fishing?")
        )
    elif row.record == Record.NONE_CAUGHT and row.rod_days is None:
        told = say("{month}: fished, and no rod-days on record. How many were there?", month=month_name(row.month))
        found.append(Finding("no-effort", row.month, told))
    if unweighed:
        text = f"{row.name}: {unweighed} fish without a weight; the total weight leaves them out."
        found.append(Finding("no-weight", row.month, text))
    for fate, method in METHODS.items():
        for kind, name in CLASSES.items():
            if odd := _odd_mean(kind, row.cells[fate][kind]):
                found.append(Finding("mean-weight", row.month, f"{row.name}, {name}, {method}: {odd}"))
    return found


def _odd_mean(kind: str, cell: Cell) -> str | None:
    weighed = cell.number - cell.unweighed
    if weighed < 1:
        return None
    mean = cell.weight_kg / weighed
    low, high = bands(kind, weighed)
    if low <= mean <= high:
        return None
    return f"a mean of {mean:.2f} kg is outside {low:.2f} to {high:.2f} kg. Look again at kinds and weights."


def bands(kind: str, number: int) -> tuple[Decimal, Decimal]:
    """Between which weights the mean of so many fish of a class is ordinary, kg."""
    if number >= MANY and kind in MEAN_WEIGHTS_KG:
        low, high = MEAN_WEIGHTS_KG[kind]
        return Decimal(str(low)), Decimal(str(high))
    return ODD_WEIGHTS_KG[kind]
