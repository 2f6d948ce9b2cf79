"""What a fish is in an export: every column once, for the SQL of both databases, the schema and Parquet.

Nobody's name is among them: no angler, no owner, no telephone number. The SQL makes every cell ready
for a file, since a million rows are too many to touch one by one in Python; text that a spreadsheet
would take for a formula is disarmed as `beats.shared.cells.safe_cell` does it, and a test holds the
two together.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from beats.shared.cells import TRIGGERS

POSTGRES, SQLITE = "postgresql", "sqlite"
HARMLESS = (("A", "Z"), ("a", "z"), ("0", "9"))
SIZES = ("c.weight_kg", "c.length_cm")
STANDING = "c.struck_out_at IS NULL"
FROM = (
    "FROM fishing_sessions_catch c JOIN beats_beat b ON b.id = c.beat_id "
    "LEFT JOIN beats_pool p ON p.id = c.pool_id"
)


@dataclass(frozen=True)
class Column:
    """One column: its name, its type in a Table Schema, what it says, and where it comes from."""

    name: str
    kind: str
    source: str
    title: str
    choices: tuple[str, ...] = ()
    free_text: bool = False


def _signs(vendor: str) -> str:
    """The signs a cell may not begin with, as SQL. Line breaks are blanks by then and NUL is never stored."""
    char = {POSTGRES: "chr", SQLITE: "char"}[vendor]
    signs = [sign for sign in TRIGGERS if sign not in "\r\n\0"]
    return ", ".join(f"{char}({ord(sign)})" for sign in signs)


def _text(source: str, vendor: str) -> str:
    """Free text on one line, disarmed; null where it is empty.

    Nearly all of it begins with a letter or a digit and has no line break: that is seen first, since the
    rest costs ten times as much.
    """
    char, code, place = {POSTGRES: ("chr", "ascii", "strpos"), SQLITE: ("char", "unicode", "instr")}[vendor]
    plain = f"replace(replace({source}, {char}(13), ' '), {char}(10), ' ')"
    first = f"substr(ltrim({plain}, ' '), 1, 1)"
    begins = " OR ".join(f"{code}({source}) BETWEEN {ord(low)} AND {ord(high)}" for low, high in HARMLESS)
    one_line = f"{place}({source}, {char}(10)) = 0 AND {place}({source}, {char}(13)) = 0"
    return (
        f"CASE WHEN {source} IS NULL OR {source} = '' THEN NULL"
        f" WHEN ({begins}) AND {one_line} THEN {source}"
        f" WHEN {first} IN ({_signs(vendor)}) THEN '''' || {plain} ELSE {plain} END"
    )


def _instant(source: str, vendor: str) -> str:
    if vendor == SQLITE:
        return f"strftime('%%Y-%%m-%%dT%%H:%%M:%%SZ', {source})"
    # As to_char would write it, at half its cost; `snapshot_cursor` sees to the style of dates.
    return f"replace(date_trunc('second', {source} AT TIME ZONE 'UTC')::text, ' ', 'T') || 'Z'"


def _size(source: str, vendor: str) -> str:
    """With the digits it was written with. SQLite keeps decimals as binary fractions."""
    if vendor == POSTGRES:
        return source
    digits = 2 if source == "c.weight_kg" else 1
    return f"CASE WHEN {source} IS NULL THEN NULL ELSE printf('%%.{digits}f', {source}) END"


def _sql(column: Column, vendor: str) -> str:
    source = column.source
    if column.free_text:
        return _text(source, vendor)
    if column.kind == "datetime":
        return _instant(source, vendor)
    if column.kind == "date":
        return f"substr({source}, 1, 10)" if vendor == SQLITE else source
    if column.kind == "boolean":
        return f"CASE WHEN {source} THEN 'true' ELSE 'false' END"
    if source in SIZES:
        return _size(source, vendor)
    return f"NULLIF({source}, '')" if column.kind == "string" and column.name not in NEVER_EMPTY else source


COLUMNS = (
    Column("id", "integer", "c.id", "Number of the fish in the book"),
    Column("beat", "string", "b.slug", "Beat"),
    Column("pool", "string", "p.slug", "Pool; empty when nobody said"),
    Column("caught_on", "date", "c.caught_on", "Date at the river"),
    Column("caught_at", "datetime", "c.caught_at", "Instant, in UTC"),
    Column(
        "kind", "string", "c.kind", "Class; msw and 1sw are winters at sea; kelt and non_native are not counted",
        ("msw", "1sw", "sea_trout", "finnock", "farmed_msw", "farmed_1sw", "kelt", "non_native"),
    ),
    Column("fate", "string", "c.fate", "Kept or released", ("kept", "released")),
    Column("weight_kg", "number", "c.weight_kg", "Weight in kilograms"),
    Column("weight_how", "string", "c.weight_how", "How it was got", ("weighed", "estimated", "from_length")),
    Column("length_cm", "number", "c.length_cm", "Length in centimetres"),
    Column("length_how", "string", "c.length_how", "How it was got", ("measured", "estimated")),
    Column("condition", "string", "c.condition", "How it looked", ("sea_lice", "fresh", "coloured", "ripe")),
    Column("sex", "string", "c.sex", "Sex, if seen", ("cock", "hen")),
    Column("part", "string", "c.part", "Part of the day"),
    Column("method", "string", "c.method", "How it was fished for", ("fly", "spinner", "bait", "other")),
    Column("fly", "string", "c.fly", "Fly or lure", free_text=True),
    Column("level_m", "number", "c.level_m", "Level then, metres on the beat's gauge"),
    Column("water_c", "number", "c.water_c", "Temperature of the water then, degrees Celsius"),
    Column("tag", "string", "c.tag", "Tag", free_text=True),
    Column("scale_sample", "boolean", "c.scale_sample", "Whether scales were taken"),
    Column("note", "string", "c.note", "Note", free_text=True),
)  # fmt: skip
ALWAYS = ("id", "beat", "caught_on", "kind", "fate")
NEVER_EMPTY = (*ALWAYS, "pool")  # where nobody said, the pool is null
NAMES = tuple(column.name for column in COLUMNS)


def statement(vendor: str, *, season: bool) -> str:
    """The fish of a fishery as one SELECT, in the order of their numbers. Takes its id, then two dates."""
    told = ", ".join(f"{_sql(column, vendor)} AS {column.name}" for column in COLUMNS)
    return f"SELECT {told} {FROM} {_where(season)}"


def json_statement(vendor: str, *, season: bool) -> str:
    """The same as one JSON object a row."""
    build = {POSTGRES: "json_build_object", SQLITE: "json_object"}[vendor]
    told = ", ".join(f"'{column.name}', {_json(column, vendor)}" for column in COLUMNS)
    return f"SELECT {build}({told}) {FROM} {_where(season)}"


def _json(column: Column, vendor: str) -> str:
    if column.kind == "boolean":
        return column.source if vendor == POSTGRES else f"json({_sql(column, vendor)})"
    if column.kind == "number":
        return column.source
    return f"NULLIF({column.source}, '')" if column.free_text else _sql(column, vendor)


def _where(season: bool) -> str:
    span = " AND c.caught_on >= %s AND c.caught_on < %s" if season else ""
    return f"WHERE b.fishery_id = %s AND {STANDING}{span} ORDER BY c.id"


def table_schema() -> dict[str, Any]:
    """A Frictionless Table Schema (datapackage.org, Table Schema) of the CSV; its closing line is a comment."""
    return {
        "$schema": "https://datapackage.org/profiles/2.0/tableschema.json",
        "fields": list(_fields()),
        "primaryKey": ["id"],
        "missingValues": [""],
    }


def table_dialect() -> dict[str, Any]:
    """How the CSV is written: RFC 4180, with the closing count and hash in a line that begins with #."""
    return {"commentChar": "#", "delimiter": ",", "lineTerminator": "\r\n", "quoteChar": '"', "header": True}


def _fields() -> Iterator[dict[str, Any]]:
    for column in COLUMNS:
        limits: dict[str, Any] = {"required": True} if column.name in ALWAYS else {}
        if column.choices:
            limits["enum"] = list(column.choices)
        yield {"name": column.name, "type": column.kind, "title": column.title, "constraints": limits}
