"""Taking in an owner's spreadsheet: tried out as a whole first, then written as a whole or not at all.

The preview does exactly what the import does, row by row, and takes it all back. So what it names is
what would happen, clashes between two rows of the file included.
"""

import datetime as dt
import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction

from beats.audit import record
from beats.models import Beat, Fishery, User
from beats.queries import Role, require_role
from beats.shared.once import Once, made_earlier, make_once
from beats.shared.refusals import Refusal
from beats.shares import take
from bookings.models import Guest, Let, LetImport
from bookings.services.guests import add_guest
from bookings.services.holds import release_lapsed
from bookings.services.lets import RodsTaken, let_rods
from bookings.spreadsheet import Fault, LetRow, read


class FaultyRows(Refusal):
    """Some rows cannot be taken in."""

    code = "faulty-rows"
    title = "Some rows cannot be taken in"


@dataclass
class Report:
    """What taking the file in would do: how many lets and guests it adds, and what is in the way."""

    lets: int = 0
    new_guests: list[str] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def preview(fishery: Fishery, body: bytes, *, xlsx: bool, by: User, now: dt.datetime) -> Report:
    """Every clash and fault by row; nothing is written. Raises BadFile, NotYours."""
    require_role(by, fishery, Role.OWNER)
    take("imports", fishery, now=now)
    rows, faults = read(body, xlsx=xlsx)
    with transaction.atomic():
        report = _Taking(fishery, by, now).take(rows)
        transaction.set_rollback(True)
    report.faults = sorted([*faults, *report.faults], key=lambda fault: fault.row)
    return report


def take_in(
    fishery: Fishery, body: bytes, *, xlsx: bool, by: User, now: dt.datetime, once: Once | None = None
) -> tuple[LetImport, bool]:
    """Write every row, or none. The same file again changes nothing. Returns (import, new?).

    Raises FaultyRows (naming each by "row 7"), BadFile, NotYours, KeyReused.
    """
    require_role(by, fishery, Role.OWNER)
    if earlier := made_earlier(LetImport, by=by, once=once):
        return earlier, False
    digest = hashlib.sha256(body).hexdigest()
    if known := LetImport.objects.filter(fishery=fishery, digest=digest).first():
        return known, False
    take("imports", fishery, now=now)
    rows, faults = read(body, xlsx=xlsx)
    _refuse(faults)
    release_lapsed(now)

    def make(columns: dict[str, Any]) -> LetImport:
        report = _Taking(fishery, by, now).take(rows)
        _refuse(report.faults)
        facts = {"rows": report.lets, "new_guests": len(report.new_guests)}
        done = LetImport.objects.create(fishery=fishery, digest=digest, at=now, **facts, **columns)
        record("take in lets", done, by=by, now=now, fishery=fishery, after=facts)
        return done

    return make_once(LetImport, by=by, once=once, make=make)


def _refuse(faults: Sequence[Fault]) -> None:
    if not faults:
        return
    errors: dict[str, list[str]] = {}
    for fault in faults:
        errors.setdefault(f"row {fault.row}", []).append(f"{fault.column}: {fault.text}")
    raise FaultyRows(
        f"Nothing was written. {len(errors)} rows have faults, the first is row {faults[0].row}: "
        f"{faults[0].text} Correct them and send the file again.",
        errors=errors,
    )


class _Taking:
    """One file going in, inside the caller's transaction."""

    def __init__(self, fishery: Fishery, by: User, now: dt.datetime) -> None:
        self.fishery, self.by, self.now = fishery, by, now
        self.report = Report()
        beats = list(fishery.beats.select_related("fishery"))
        self.beats: dict[str, Beat] = {beat.name.lower(): beat for beat in beats}
        self.beats |= {beat.slug: beat for beat in beats}
        self.made: list[tuple[LetRow, Let]] = []

    def take(self, rows: Sequence[LetRow]) -> Report:
        for row in rows:
            try:
                with transaction.atomic():
                    guest, is_new = self._guest(row)
                    self.made.append((row, self._let(row, guest)))
            except _RowFault as fault:
                self.report.faults.append(Fault(row.row, fault.column, fault.text))
            else:
                self.report.lets += 1
                self.report.new_guests += [guest.name] if is_new else []
        return self.report

    def _let(self, row: LetRow, guest: Guest) -> Let:
        beat = self.beats.get(row.beat.lower())
        if beat is None:
            raise _RowFault("beat", f"{self.fishery.name} has no beat {row.beat}.")
        facts = {"first_on": row.first_on, "last_on": row.last_on, "rods": row.rods, "kind": row.kind}
        try:
            return let_rods(beat, booker=guest, **facts, by=self.by, now=self.now)[0]
        except RodsTaken as refusal:
            raise _RowFault("rods", refusal.sentence + self._beside(beat, row)) from None
        except Refusal as refusal:
            raise _RowFault("first day", refusal.sentence) from None

    def _beside(self, beat: Beat, row: LetRow) -> str:
        """The rows of this very file that a row clashes with."""
        clashing = [
            other.row
            for other, let in self.made
            if let.beat_id == beat.pk and other.first_on <= row.last_on and row.first_on <= other.last_on
        ]
        return f" In this file rows {', '.join(map(str, clashing))} take these days too." if clashing else ""

    def _guest(self, row: LetRow) -> tuple[Guest, bool]:
        """Whom a row means: by e-mail, else by name; somebody unknown is entered."""
        book = self.fishery.guests
        if row.email and (known := book.filter(email=row.email).first()):
            return known, False
        named = [] if row.email else list(book.filter(name__iexact=row.guest)[:2])
        if len(named) > 1:
            raise _RowFault("guest", f"The book has several guests called {row.guest}. Give the e-mail address.")
        if named:
            return named[0], False
        facts = {"name": row.guest, "email": row.email, "phone": row.phone}
        try:
            return add_guest(self.fishery, facts=facts, by=self.by, now=self.now)
        except Refusal as refusal:
            raise _RowFault("guest", refusal.sentence) from None


class _RowFault(Exception):
    def __init__(self, column: str, text: str) -> None:
        super().__init__(text)
        self.column, self.text = column, text
