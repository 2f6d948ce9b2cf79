"""Bringing an old catch book in, whole or not at all; looking first; taking it out again."""

import dataclasses
import datetime as dt
import hashlib
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.db import transaction
from django.db.models import F

from beats.audit import record
from beats.models import Fishery, User
from beats.queries import Role, local_day, require_role
from beats.shared.once import Once, made_earlier, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from beats.shares import take
from sessions.models import MonthlyTotal, OldBook
from sessions.old_books.plan import Plan
from sessions.old_books.rows import RowFault, read_rows
from sessions.old_books.sheet import read
from sessions.services.many_fish import write_many
from sessions.services.old_rows import Settled, settle_fish, settle_months

MOST_SHOWN = 100
BATCH = 2000


class FaultyBook(Refusal):
    """Rows of the file cannot be taken; nothing was changed."""

    code = "faulty-book"
    title = say("The old book has faults")
    status = 400

    def __init__(self, sentence: str, *, faults: Sequence[RowFault] = (), **kwargs) -> None:
        super().__init__(sentence, **kwargs)
        self.faults = list(faults)


class BroughtInAlready(Refusal):
    """The same file is in the book."""

    code = "brought-in-already"
    title = say("In the book already")


@dataclass(frozen=True)
class Season:
    """What a season of the file comes to."""

    season: int
    fish: int
    weight_kg: Decimal


@dataclass(frozen=True)
class Look:
    """What would come in: counts by season, every fault and every doubt by row (the first hundred of each)."""

    rows: int
    seasons: list[Season]
    fault_count: int
    faults: list[RowFault]
    caution_count: int
    cautions: list[RowFault]


def look_at(fishery: Fishery, data: bytes, plan: Plan, *, name: str, by: User, now: dt.datetime) -> Look:
    """Bring the book in and undo it: what is told is what would happen.

    Raises UnreadableBook, WrongMapping, BroughtInAlready, NotYours.
    """
    require_role(by, fishery, Role.OWNER)
    take("imports", fishery, now=now)
    told = _Told(fishery, data, plan, name=name, by=by, now=now)
    with transaction.atomic():
        try:
            book, settled = _bring_in(told, {})
        except FaultyBook as refusal:
            faults = refusal.faults
            return Look(0, [], len(faults), faults[:MOST_SHOWN], 0, [])
        transaction.set_rollback(True)
    cautions = settled.cautions
    return Look(book.rows, _seasons(settled), 0, [], len(cautions), cautions[:MOST_SHOWN])


def bring_in(
    fishery: Fishery, data: bytes, plan: Plan, *, name: str, by: User, now: dt.datetime, once: Once | None = None
) -> tuple[OldBook, bool]:
    """Write every row of the file into the book, or none. Returns (old book, new?).

    Raises FaultyBook with every fault by row, UnreadableBook, WrongMapping, BroughtInAlready, NotYours,
    KeyReused.
    """
    require_role(by, fishery, Role.OWNER)
    if earlier := made_earlier(OldBook, by=by, once=once):
        return earlier, False
    take("imports", fishery, now=now)
    told = _Told(fishery, data, plan, name=name, by=by, now=now)

    def make(columns: dict) -> OldBook:
        return _bring_in(told, columns)[0]

    return make_once(OldBook, by=by, once=once, make=make)


class _Told:
    """A file and its plan, read before any lock is taken: that needs no database and takes longest."""

    def __init__(
        self, fishery: Fishery, data: bytes, plan: Plan, *, name: str, by: User, now: dt.datetime
    ) -> None:
        self.fishery, self.plan, self.name, self.by, self.now = fishery, plan, name, by, now
        self.digest = hashlib.sha256(data).hexdigest()
        self.made, self.faults = read_rows(read(data, sheet=plan.sheet), plan, today=local_day(fishery, now))


def _bring_in(told: _Told, columns: dict) -> tuple[OldBook, Settled]:
    fishery, what = told.fishery, told.plan.what
    locked(Fishery.objects, pk=fishery.pk)  # one book at a time, and none beside a signing
    key = {"fishery": fishery, "what": what, "digest": told.digest, "sheet": told.plan.sheet}
    if there := OldBook.objects.filter(**key, taken_out_at=None).first():
        raise BroughtInAlready(
            say("This file is in the book as {there_name!r}. Take that out first.", there_name=there.name)
        )
    settled = (settle_fish if what == OldBook.What.FISH else settle_months)(fishery, told.made)
    if faults := sorted([*told.faults, *settled.faults], key=lambda fault: fault.row):
        raise _faulty(faults)
    plan, rows = dataclasses.asdict(told.plan), len({row.row for row in told.made})
    book = OldBook.objects.create(
        **key, name=told.name, plan=plan, rows=rows, brought_in_at=told.now, **columns
    )  # fmt: skip
    if what == OldBook.What.FISH:
        write_many(settled.rows, book)
    else:
        for row in settled.rows:
            row.old_book = book
        MonthlyTotal.objects.bulk_create(settled.rows, batch_size=BATCH)
    facts = {"what": what, "name": told.name, "rows": rows, "digest": told.digest}
    record("bring in old book", book, by=told.by, now=told.now, fishery=fishery, after=facts)
    return book, settled


def _faulty(faults: list[RowFault]) -> FaultyBook:
    count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
    first = faults[0]
    shown: dict[str, list[str]] = {}
    for fault in faults[:MOST_SHOWN]:
        shown.setdefault(f"row {fault.row}", []).append(f"{fault.field}: {fault.sentence}")
    told = f"The file has {count}; nothing was brought in. Row {first.row}, {first.field}: {first.sentence}"
    return FaultyBook(told, faults=faults, errors=shown)


def _seasons(settled: Settled) -> list[Season]:
    fish: Counter = Counter()
    weights: dict[int, Decimal] = {}
    for season, number, weight in settled.sums:
        fish[season] += number
        weights[season] = weights.get(season, Decimal(0)) + (weight or 0)
    return [Season(season, fish[season], weights[season]) for season in sorted(fish)]


@transaction.atomic
def take_out(book: OldBook, *, reason: str, by: User, now: dt.datetime) -> OldBook:
    """Strike out every fish of an old book and drop its totals. A second time changes nothing. Raises NotYours."""
    require_role(by, book.fishery, Role.OWNER)
    book = locked(OldBook.objects.select_related("fishery"), pk=book.pk)
    if book.taken_out_at is None:
        struck = book.fish.filter(struck_out_at=None).update(struck_out_at=now, version=F("version") + 1)
        dropped, _ = book.totals.all().delete()
        book.taken_out_at, book.reason = now, reason
        book.save(update_fields=["taken_out_at", "reason"])
        facts = {"reason": reason, "fish": struck, "totals": dropped}
        record("take out old book", book, by=by, now=now, fishery=book.fishery, after=facts)
    return book
