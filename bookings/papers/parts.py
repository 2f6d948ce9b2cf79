"""A paper as headings and lines, the same for e-mail and for print."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Section:
    """A heading and what stands under it. A `table` has its column heads in the first row."""

    heading: str
    lines: tuple[str, ...] = ()
    table: tuple[tuple[str, ...], ...] = ()
    wide: int = field(default=0)  # the column that takes the room that is left


def one_line(text: str) -> str:
    """What people typed may not pass for a line of the paper's own."""
    return " ".join(text.split())


def as_text(title: str, sections: Iterable[Section]) -> str:
    """The body of an e-mail."""
    told = [title]
    for section in sections:
        told += ["", section.heading.upper(), *section.lines, *_rows(section.table)]
    return "\n".join(told) + "\n"


def _rows(table: Sequence[Sequence[str]]) -> list[str]:
    return ["  ".join(cell for cell in row if cell) for row in table]
