"""A rota as lines of cells: one line a turn."""

from collections.abc import Iterable

from beats.shared.cells import safe_cell
from sessions.sheets.sheet import Turn

HEADER = ["Day", "Part", "Starts", "Ends", "Rod", "Guest", "Pool", "Do not fish"]


def lines(turns: Iterable[Turn]) -> list[list[str]]:
    """A header, then the turns in their order in time; times are local to the river."""
    ordered = sorted(turns, key=lambda turn: (turn.day, turn.starts, turn.rod))
    return [HEADER] + [
        [
            turn.day.isoformat(), safe_cell(turn.part), f"{turn.starts:%H:%M}", f"{turn.ends:%H:%M}",
            str(turn.rod), safe_cell(turn.guest), safe_cell(turn.pool),
            safe_cell(turn.warning),
        ]
        for turn in ordered
    ]  # fmt: skip
