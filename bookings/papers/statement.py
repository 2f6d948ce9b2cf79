"""A guest's account with a fishery: every entry, and the sum of them."""

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import accumulate

from beats.shared import words
from beats.shared.cells import safe_cell
from bookings.agreed import AgreedLine
from bookings.papers.parts import Section, one_line

HEADER = ("Date", "Entry", "Let", "Reference", "Note", "Amount", "VAT within", "Balance", "Currency")


@dataclass(frozen=True)
class Entry:
    """One line; `amount` above nothing is owed by the guest."""

    booked_on: dt.date
    what: str
    let: int | None
    reference: str
    note: str
    amount: Decimal
    vat: Decimal


@dataclass(frozen=True)
class GivenUp:
    """Days given up of a let, of whose price a part stays charged."""

    let: int
    line: AgreedLine

    @property
    def sentence(self) -> str:
        line = self.line
        days = f"{line.rod_days} rod-day{'' if line.rod_days == 1 else 's'}, {line.first_on.isoformat()}"
        days += f" to {line.last_on.isoformat()}" if line.last_on != line.first_on else ""
        return (
            f"Let {self.let}: {days}, given up on {line.given_up_on}. By the refund policy "
            f"{line.refund_percent} % of {line.gross} goes back: {line.credited}. {line.kept} stays charged."
        )


@dataclass(frozen=True)
class Statement:
    """Entries in the order they count; `given_up` says what of the charges is for days given up."""

    fishery: str
    guest: str
    currency: str
    entries: tuple[Entry, ...]
    printed_on: dt.date
    given_up: tuple[GivenUp, ...] = ()

    @property
    def title(self) -> str:
        return f"Statement of account: {one_line(self.guest)} with {one_line(self.fishery)}"

    @property
    def balance(self) -> Decimal:
        return sum((entry.amount for entry in self.entries), Decimal("0.00"))


def lines(statement: Statement) -> list[list[str]]:
    """For a spreadsheet: a header, and a line an entry. Words are disarmed, sums stay numbers."""
    return [list(HEADER)] + [
        [
            entry.booked_on.isoformat(), safe_cell(entry.what), str(entry.let or ""), safe_cell(entry.reference),
            safe_cell(entry.note), str(entry.amount), str(entry.vat), str(balance), statement.currency,
        ]
        for entry, balance in zip(statement.entries, _balances(statement.entries), strict=True)
    ]  # fmt: skip


def sections(statement: Statement) -> list[Section]:
    """For print."""
    head = ("Date", "Entry", f"Amount, {statement.currency}", "VAT within", "Balance")
    rows = [
        (entry.booked_on.isoformat(), _told(entry), str(entry.amount), str(entry.vat), str(balance))
        for entry, balance in zip(statement.entries, _balances(statement.entries), strict=True)
    ]
    return [
        Section(f"As of {words.day(statement.printed_on)}", (_sum(statement),)),
        Section("Entries", () if rows else ("None yet.",), (head, *rows) if rows else (), wide=1),
        *([Section("Days given up", tuple(one.sentence for one in statement.given_up))]
          if statement.given_up else []),
        Section("How it is reckoned", (
            ("A sum above nothing is owed by the guest, one below it was paid or is owed to the guest. VAT is "
            "reckoned line by line to the nearest penny, half a penny up."),
        )),
    ]  # fmt: skip


def _sum(statement: Statement) -> str:
    balance, currency = statement.balance, statement.currency
    if balance > 0:
        return f"{one_line(statement.guest)} owes {balance} {currency}."
    if balance < 0:
        return f"The fishery owes {one_line(statement.guest)} {-balance} {currency}."
    return "Nothing is owed."


def _balances(entries: Sequence[Entry]) -> list[Decimal]:
    return list(accumulate(entry.amount for entry in entries))


def _told(entry: Entry) -> str:
    parts = [entry.what, f"let {entry.let}" if entry.let else "", entry.reference, entry.note]
    return ", ".join(one_line(part) for part in parts if part)
