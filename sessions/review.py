"""What to look at before a return is signed.

The officials query what is missing, catch outside the legal season, and mean weights outside set
limits ("Salmon & Sea Trout catches", gov.scot). Their limits were not found; the bands here are
those of `sessions.plausible`. Nothing on this list forbids signing: a true figure may be odd.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from sessions.effort import MonthEffort
from sessions.monthly import CLASSES, METHODS, MONTHS, Cell, Month
from sessions.plausible import MEAN_WEIGHTS_KG, ODD_WEIGHTS_KG
from sessions.snapshot import adds_up

MANY = 20
"""From so many fish on a mean is held against published means; below that, against what one fish may weigh."""


@dataclass(frozen=True)
class Finding:
    """Something to look at: a stable code, the month (None for the season) and a sentence."""

    code: str
    month: int | None
    sentence: str


def review(
    rows: Iterable[Month],
    made: Mapping[str, Any],
    *,
    outside: int,
    flagged: int,
    over: bool,
    effort: Iterable[MonthEffort] = (),
) -> list[Finding]:
    """Findings by month, then those of the season. `outside` and `flagged` count fish of the book."""
    rows = list(rows)
    found = [finding for row in rows for finding in _of_month(row)]
    found += _of_effort(list(effort))
    if outside:
        found.append(Finding("out-of-season", None, f"{_fish(outside)} dated outside the season or on a Sunday."))
    if flagged:
        found.append(Finding("flagged", None, f"{_fish(flagged)} flagged: on a closed day, or kept unlawfully."))
    if not adds_up(made):
        found.append(Finding("does-not-add", None, "The months do not add up to the totals."))
    if not over:
        found.append(Finding("not-over", None, "The season is not over: these figures will grow."))
    return found


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
