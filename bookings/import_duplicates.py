"""Lines of an import that repeat another line or a let in the book.

Two lets are the same when booker, beat, first day, last day and number of rods are the same. The booker is
the same when the e-mail addresses are, or, where one of the two has no address, when the names are. Names are
compared without letter case, repeated blanks and compatibility forms of letters (Unicode NFKC).
"""

import datetime as dt
import unicodedata
from collections import defaultdict
from dataclasses import dataclass

Place = tuple[int, dt.date, dt.date, int]
"""Beat id, first day, last day, number of rods."""


@dataclass(frozen=True)
class Entry:
    """One let: `row` is its line in the file, `let` its number in the book; one of the two is None."""

    place: Place
    name: str
    email: str
    row: int | None = None
    let: int | None = None


@dataclass(frozen=True)
class Duplicate:
    """A line of the file and what it repeats: an earlier line, or a let in the book."""

    row: int
    same_as_row: int | None
    let: int | None

    @property
    def text(self) -> str:
        what = f"row {self.same_as_row}" if self.let is None else f"let {self.let}, which is in the book"
        return f"The same guest, beat, days and rods as {what}. Delete this row, or give all rods in one row."


class Seen:
    """The lets known so far."""

    def __init__(self) -> None:
        self._by_place: dict[Place, list[Entry]] = defaultdict(list)

    def add(self, entry: Entry) -> None:
        self._by_place[entry.place].append(entry)

    def duplicate_of(self, entry: Entry) -> Duplicate | None:
        """What a line repeats, the first that was added; None when nothing is the same."""
        if entry.row is None:
            raise ValueError("only a line of the file is looked up")
        for other in self._by_place.get(entry.place, ()):
            if same_booker(entry, other):
                return Duplicate(entry.row, other.row, other.let)
        return None


def same_booker(one: Entry, other: Entry) -> bool:
    if one.email and other.email:
        return one.email.lower() == other.email.lower()
    return normal_name(one.name) == normal_name(other.name)


def normal_name(name: str) -> str:
    return " ".join(unicodedata.normalize("NFKC", name).casefold().split())
