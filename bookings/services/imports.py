"""Taking in an owner's spreadsheet: tried out as a whole first, then written as a whole or not at all.

The preview does exactly what the import does, row by row, and takes it all back. So what it names is
what would happen, clashes between two rows of the file included. Bookers are e-mailed only with `notify`.
"""

import datetime as dt
import hashlib
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from django.db import transaction
from django.db.models import Q

from beats.audit import record
from beats.models import Beat, Fishery, User
from beats.queries import Role, require_role
from beats.shared.once import Once, made_earlier, make_once
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from beats.shares import take
from bookings.import_duplicates import Duplicate, Entry, Seen, normal_name
from bookings.models import Guest, Let, LetImport
from bookings.services.guests import add_guest
from bookings.services.holds import release_lapsed
from bookings.services.lets import RodsTaken, let_rods
from bookings.services.papers import letter_wanted, write_no_letters
from bookings.spreadsheet import Fault, LetRow, read


class FaultyRows(Refusal):
    """Some rows cannot be taken in."""

    code = "faulty-rows"
    title = "Some rows cannot be taken in"


@dataclass
class Report:
    """What taking the file in would do: how many lets and guests it adds, and what is in the way.

    `letters` is how many e-mails the import would send as asked, `letters_if_notified` how many with `notify`.
    """

    lets: int = 0
    letters: int = 0
    letters_if_notified: int = 0
    new_guests: list[str] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    duplicates: list[Duplicate] = field(default_factory=list)


def preview(
    fishery: Fishery, body: bytes, *, xlsx: bool, notify: bool = False, by: User, now: dt.datetime
) -> Report:
    """Every clash, fault and duplicate by row; nothing is written. Raises BadFile, NotYours."""
    require_role(by, fishery, Role.OWNER)
    take("imports", fishery, now=now)
    rows, faults = read(body, xlsx=xlsx)
    with transaction.atomic():
        report = _Taking(fishery, by, now, notify=notify).take(rows)
        transaction.set_rollback(True)
    report.faults = sorted([*faults, *report.faults], key=lambda fault: fault.row)
    return report


def take_in(
    fishery: Fishery,
    body: bytes,
    *,
    xlsx: bool,
    notify: bool = False,
    skip_duplicates: bool = False,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[LetImport, bool]:
    """Write every row, or none. The same file again changes nothing. Returns (import, new?).

    A row that repeats another, or a let in the book, refuses the file like a fault; with `skip_duplicates` it is
    left out and named in `LetImport.skipped`. Raises FaultyRows (naming each by "row 7"), BadFile, NotYours,
    KeyReused.
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
        locked(Fishery.objects, pk=fishery.pk)  # two files at once would not see each other's lets
        report = _Taking(fishery, by, now, notify=notify).take(rows)
        _refuse(report.faults, [] if skip_duplicates else report.duplicates)
        skipped = [{"row": each.row, "text": each.text} for each in report.duplicates]
        facts = {"rows": report.lets, "new_guests": len(report.new_guests), "letters": report.letters}
        done = LetImport.objects.create(
            fishery=fishery, digest=digest, at=now, skipped=skipped, **facts, **columns
        )
        told = facts | {"skipped": len(skipped)}
        record("take in lets", done, by=by, now=now, fishery=fishery, after=told)
        return done

    return make_once(LetImport, by=by, once=once, make=make)


def _refuse(faults: Sequence[Fault], duplicates: Sequence[Duplicate] = ()) -> None:
    if not faults and not duplicates:
        return
    found = [(fault.row, f"{fault.column}: {fault.text}", fault.text) for fault in faults]
    found = sorted([*found, *((each.row, each.text, each.text) for each in duplicates)], key=lambda each: each[0])
    errors: dict[str, list[str]] = {}
    for row, text, _ in found:
        errors.setdefault(f"row {row}", []).append(text)
    leave_out = " With skip_duplicates=true repeated rows are left out." if duplicates else ""
    raise FaultyRows(
        f"Nothing was written. {len(errors)} rows have faults, the first is row {found[0][0]}: "
        f"{found[0][2]} Correct them and send the file again.{leave_out}",
        errors=errors,
    )


class _Taking:
    """One file going in, inside the caller's transaction."""

    def __init__(self, fishery: Fishery, by: User, now: dt.datetime, *, notify: bool) -> None:
        self.fishery, self.by, self.now, self.notify = fishery, by, now, notify
        self.report = Report()
        beats = list(fishery.beats.select_related("fishery"))
        self.beats: dict[str, Beat] = {beat.name.lower(): beat for beat in beats}
        self.beats |= {beat.slug: beat for beat in beats}
        self.made: list[tuple[LetRow, Let]] = []
        self.guests = _Guests(fishery)
        self.seen = Seen()

    def take(self, rows: Sequence[LetRow]) -> Report:
        for entry in _lets_in_the_book(self.fishery, rows, now=self.now):
            self.seen.add(entry)
        for row in rows:
            if duplicate := self._duplicate(row):
                self.report.duplicates.append(duplicate)
            else:
                self._row(row)
        lets = [let for _, let in self.made]
        self.report.lets = len(lets)
        self.report.letters_if_notified = sum(letter_wanted(let, now=self.now) for let in lets)
        self.report.letters = self.report.letters_if_notified if self.notify else 0
        if not self.notify:
            write_no_letters(lets, now=self.now)
        return self.report

    def _row(self, row: LetRow) -> None:
        try:
            with transaction.atomic():
                guest, is_new = self._guest(row)
                let = self._let(row, guest)
        except _RowFault as fault:
            self.report.faults.append(Fault(row.row, fault.column, fault.text))
        else:
            self.made.append((row, let))
            if is_new:
                self.guests.add(guest)
                self.report.new_guests.append(guest.name)

    def _duplicate(self, row: LetRow) -> Duplicate | None:
        beat = self.beats.get(row.beat.lower())
        if beat is None:  # a fault, which is found later
            return None
        named = self.guests.by_name[normal_name(row.guest)]
        email = row.email or (named[0].email if len(named) == 1 else "")
        entry = Entry((beat.pk, row.first_on, row.last_on, row.rods), row.guest, email, row=row.row)
        found = self.seen.duplicate_of(entry)
        if found is None:
            self.seen.add(entry)
        return found

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
        if row.email and (known := self.guests.by_email.get(row.email)):
            return known, False
        named = [] if row.email else self.guests.by_name[normal_name(row.guest)]
        if len(named) > 1:
            raise _RowFault("guest", f"The book has several guests called {row.guest}. Give the e-mail address.")
        if named:
            return named[0], False
        facts = {"name": row.guest, "email": row.email, "phone": row.phone}
        try:
            return add_guest(self.fishery, facts=facts, by=self.by, now=self.now)
        except Refusal as refusal:
            raise _RowFault("guest", refusal.sentence) from None


class _Guests:
    """The guests of a fishery by e-mail address and by name. One query."""

    def __init__(self, fishery: Fishery) -> None:
        self.by_email: dict[str, Guest] = {}
        self.by_name: dict[str, list[Guest]] = defaultdict(list)
        for guest in fishery.guests.filter(erased_at=None).select_related("fishery").order_by("pk"):
            self.add(guest)

    def add(self, guest: Guest) -> None:
        self.by_name[normal_name(guest.name)].append(guest)
        if guest.email:
            self.by_email[guest.email.lower()] = guest


def _lets_in_the_book(fishery: Fishery, rows: Sequence[LetRow], *, now: dt.datetime) -> list[Entry]:
    """Lets that stand on the days of the file; season rods, which a file cannot name, are left out. One query."""
    if not rows:
        return []
    stands = Q(status=Let.Status.CONFIRMED) | Q(status=Let.Status.HELD, expires_at__gt=now)
    lets = Let.objects.filter(
        stands,
        beat__fishery=fishery,
        weekday=None,
        first_on__gte=min(row.first_on for row in rows),
        last_on__lte=max(row.last_on for row in rows),
    )
    columns = ("beat", "first_on", "last_on", "rods", "booker__name", "booker__email", "pk")
    return [
        Entry((beat, first_on, last_on, rods), name, email, let=pk)
        for beat, first_on, last_on, rods, name, email, pk in lets.order_by("pk").values_list(*columns)
    ]


class _RowFault(Exception):
    def __init__(self, column: str, text: str) -> None:
        super().__init__(text)
        self.column, self.text = column, text
