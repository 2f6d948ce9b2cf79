"""A port's tide table into the database: all of a file, or nothing of it."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from beats.audit import record
from beats.models import Beat, TideWater, User
from beats.queries import Role, require_role, zone_of
from beats.shared.rows import locked
from beats.water.tide import LONGEST
from beats.water.tide_table import Fault, FaultyTideTable, Kind, Water, read_csv, table

SEVERAL = 2000


@dataclass(frozen=True)
class Imported:
    """How many waters the file holds, from when until when, and how many of them are new or other than before."""

    waters: int
    changed: int
    first_at: dt.datetime
    last_at: dt.datetime


@transaction.atomic
def import_tides(beat: Beat, data: bytes, *, by: User, now: dt.datetime) -> Imported:
    """Make the beat's table say what the CSV file says, from its first water to its last.

    What stands before and after is kept and must join on. The same file again changes nothing. Raises
    FaultyTideTable with every fault by line, and writes nothing; NotYours.
    """
    require_role(by, beat.fishery, Role.OWNER, Role.GHILLIE)
    waters = read_csv(_text(data), zone_of(beat.fishery)).waters
    locked(Beat.objects, pk=beat.pk)  # two files at once would each see the other's half
    _must_join(beat, waters)
    first, last = waters[0].at, waters[-1].at
    had = {_facts(row) for row in beat.tide_waters.filter(at__gte=first, at__lte=last)}
    has = {(water.at, water.height_m, str(water.kind)) for water in waters}
    imported = Imported(len(has), len(has - had), first, last)
    if had != has:
        _replace(beat, waters)
        facts = {"waters": len(has), "changed": imported.changed, "first": first, "last": last}
        record(
            "import tides", beat, by=by, now=now, fishery=beat.fishery, before={"waters": len(had)}, after=facts
        )
    return imported


def _text(data: bytes) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise FaultyTideTable(
            [Fault(0, f"it is not UTF-8 text ({error.reason}). Save it as CSV UTF-8.")]
        ) from None


def _facts(row: TideWater) -> tuple[dt.datetime, float, str]:
    return row.at, row.height_m, row.kind


def _replace(beat: Beat, waters: tuple[Water, ...]) -> None:
    beat.tide_waters.filter(at__gte=waters[0].at, at__lte=waters[-1].at).delete()
    rows = [TideWater(beat=beat, at=one.at, height_m=one.height_m, kind=one.kind.value) for one in waters]
    TideWater.objects.bulk_create(rows, batch_size=SEVERAL)


def _must_join(beat: Beat, waters: tuple[Water, ...]) -> None:
    """The file's ends against what stands beside them, where no rows are missing in between."""
    rows = beat.tide_waters
    before = rows.filter(at__lt=waters[0].at).order_by("-at").first()
    after = rows.filter(at__gt=waters[-1].at).order_by("at").first()
    pairs = [("first", before, waters[0]), ("last", after, waters[-1])]
    faults = [
        Fault(0, f"its {end} water does not join on to what stands: {said}")
        for end, row, water in pairs
        if row is not None and (said := _odd(row, water))
    ]
    if faults:
        raise FaultyTideTable(faults)


def _odd(row: TideWater, water: Water) -> str | None:
    stands = Water(row.at, row.height_m, Kind(row.kind))
    if abs(stands.at - water.at) > LONGEST:
        return None
    try:
        table(sorted((stands, water), key=lambda one: one.at))
    except FaultyTideTable as refusal:
        return f"{refusal.faults[0].text}. There the table has {row}; send both in one file"
    return None
