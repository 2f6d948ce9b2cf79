"""The owner's season on four pages: the return, effort, averages and pools, lets and takings.

Written for somebody who has to believe it: every average stands with its 95 % limits, what is not
known is said to be unknown, and nothing is promised.
"""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass

from sessions.lets_let import SeasonLets
from sessions.monthly import METHODS, MONTHS
from sessions.papers.printed import Printed
from sessions.papers.return_files import MONTH_WIDTH, NOT_KNOWN, grid_of, weight_notes
from sessions.returns import SeasonReturn
from sessions.season_rate import FOR_SALMON
from sessions.seasons import Statistics
from sessions.statistics.groups import Group
from sessions.statistics.rates import share

MOST = 14
NO_PROMISE = "These are figures of the book. They are not a promise of fish."


@dataclass(frozen=True)
class SeasonReport:
    """All that is on the paper, and how the season's return stands signed."""

    made: SeasonReturn
    standing: str
    salmon: Statistics
    sea_trout: Statistics
    lets: SeasonLets
    at: dt.datetime


def pdf(report: SeasonReport) -> bytes:
    """Four pages of A4. The same bytes for the same figures."""
    made = report.made
    title = f"{made.fishery.name}: season report {made.year}"
    file = Printed(title=title, foot=f"{title}. {report.standing}", at=report.at, on_its_side=True)
    _return(file, report)
    for page in (_effort, _averages, _lets):
        file.add_page()
        page(file, report)
    return bytes(file.output())


def _return(file: Printed, report: SeasonReport) -> None:
    made = report.made
    of = {"fish": "made of fish written down one by one", "months": "made of monthly totals from an old book"}
    state = NOT_KNOWN if made.state == "no_record" else f"This is a {made.state} return, {of[made.made_of]}."
    file.words(f"{report.standing} {state} Number and kilograms.")
    for fate, method in METHODS.items():
        file.heading(method, size=11)
        rows = grid_of(made.months, fate, (None, made.totals[fate]), rod_days=False)
        file.grid(rows, first=MONTH_WIDTH, bold_last=True)
        if notes := weight_notes(made.months, fate):
            file.words(notes[0])
        if len(notes) > 1:
            file.words(f"And {len(notes) - 1} more weights that leave fish out; the return names each.")


def _effort(file: Printed, report: SeasonReport) -> None:
    file.heading("Effort", size=14)
    file.words("A rod-day is one rod on one day, whatever the hours; blank days count.")
    head = ["Month", "Let", "On a rota", "Checked in", "Sea trout only", "Owner's word", "Counted"]
    effort = report.made.effort
    rows = [
        [
            MONTHS[each.month - 1], str(each.booked), str(each.planned), str(each.checked_in),
            str(each.sea_trout_only), "-" if each.decided is None else str(each.decided),
            "not known" if each.counted is None else str(each.counted),
        ]
        for each in effort
    ]  # fmt: skip
    sums = [sum(getattr(each, name) for each in effort) for name in ("booked", "planned", "checked_in")]
    left, known = sum(each.sea_trout_only for each in effort), report.made.rod_days
    counted = "not known" if known is None else str(known)
    file.grid([head, *rows, ["Season", *map(str, (*sums, left)), "", counted]], bold_last=True)
    for each in effort:
        if each.reason:
            file.words(f"{MONTHS[each.month - 1]}: {each.reason[:150]}")
    _few(file, report.made.notes, 4)


def _averages(file: Printed, report: SeasonReport) -> None:
    file.heading("Averages, with 95 % limits", size=14)
    file.words(f"{NO_PROMISE} The limits know chance alone; fish come in runs, so the truth is less sure.")
    head = [
        "",
        "Fish",
        "Rod-days",
        "Fish a rod-day",
        "Limits",
        "Five seasons before",
        "Of them known",
        "Went back",
    ]
    rows = [
        _row("Salmon and grilse", report.salmon),
        _row("Sea trout and finnock", report.sea_trout),
    ]
    file.grid([head, *rows], first=130)
    file.words(str(FOR_SALMON))
    if report.salmon.overall.rate is None:
        file.words(str(report.salmon.overall.note))
    file.heading("By pool: salmon and grilse", size=11)
    file.grid([["Pool", "Fish", "Limits"], *(_pool(group) for group in report.salmon.by_pool[:MOST])], first=240)
    if left := report.salmon.by_pool[MOST:]:
        file.words(f"And {sum(group.fish for group in left)} fish of {len(left)} more pools.")
    for note in report.salmon.notes[2:]:
        file.words(note)


def _row(name: str, made: Statistics) -> list[str]:
    found, average = made.overall, made.average
    back = share(made.released.part, made.released.whole)
    return [
        name,
        str(found.fish),
        "-" if found.rod_days is None else str(found.rod_days),
        "-" if found.rate is None else f"{found.rate:.3f}",
        "-" if found.low is None else f"{found.low:.3f} to {found.high:.3f}",
        "not known" if average.mean is None else f"{average.mean:.1f} ({average.lowest} to {average.highest})",
        str(len(average.years)),
        "-" if back.share is None else f"{back.share:.0%} ({back.low:.0%} to {back.high:.0%})",
    ]


def _pool(group: Group) -> list[str]:
    return [group.name, str(group.fish), f"{group.low:.1f} to {group.high:.1f}"]


def _lets(file: Printed, report: SeasonReport) -> None:
    lets = report.lets
    file.heading("Lets and takings", size=14)
    file.words(f"{lets.totals[0]} lets, {lets.totals[1]} rod-days let, those to come included.")
    file.words("Each cell: lets that begin in the month / rod-days let in it.")
    head = ["Beat", *(MONTHS[month - 1][:3] for month in lets.months), "Season"]
    file.grid([head, *(_beat(lets, beat) for beat in lets.beats[:MOST])], first=130)
    if left := lets.beats[MOST:]:
        days = sum(number for (beat, _), number in lets.rod_days.items() if beat in left)
        file.words(f"And {days} rod-days on {len(left)} more beats.")
    file.heading("Takings", size=11)
    _takings(file, lets)


def _beat(lets: SeasonLets, beat: str) -> list[str]:
    cells = [(lets.lets.get((beat, month), 0), lets.rod_days.get((beat, month), 0)) for month in lets.months]
    season = (sum(cell[0] for cell in cells), sum(cell[1] for cell in cells))
    return [beat, *(f"{begun} / {days}" for begun, days in (*cells, season))]


def _takings(file: Printed, lets: SeasonLets) -> None:
    """By the month the money moved in, whatever days it was for: what an accountant finds at the bank."""
    rows = [row for row in lets.takings if row.first_on.month in lets.months]
    if not any(row.taken or row.to_come for row in rows):
        file.words("The ledger has nothing paid in this year, and nothing that is still to come in it.")
        return
    head = [lets.currency, *(MONTHS[row.first_on.month - 1][:3] for row in rows), "Year"]
    taken, to_come = [row.taken for row in rows], [row.to_come for row in rows]
    lines = [
        ["Taken", *map(str, (*taken, sum(taken)))],
        ["Still to come", *map(str, (*to_come, sum(to_come)))],
    ]
    file.grid([head, *lines], first=130)
    file.words("Taken: paid in less paid back, by the month it was paid. Still to come: due and not paid yet.")


def _few(file: Printed, texts: Sequence[str], most: int) -> None:
    for text in texts[:most]:
        file.words(text)
