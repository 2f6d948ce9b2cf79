"""Fish in bulk: CSV, JSON lines and Parquet, the same book each time.

Checked against: RFC 4180 (Python's csv module reads it back, lines end in CRLF); Frictionless Table
Schema, by the library `frictionless`; OWASP ASVS 5.0, 1.2.10, for formulas; Parquet, by pyarrow;
Darwin Core by a second reader is in test_occurrences_read.py.
"""

import csv
import datetime as dt
import hashlib
import io
import json
import re
import threading
from decimal import Decimal

import frictionless
import pyarrow.parquet as pq
import pytest
from django.db import connection
from hypothesis import example, given, settings
from hypothesis import strategies as st

from beats.shared.cells import TRIGGERS, safe_cell
from sessions.export import stream
from sessions.export.columns import HARMLESS, NAMES, _text, table_dialect, table_schema
from sessions.export.occurrences import TERMS, blurred
from sessions.models import Catch
from tests.factories import (
    NOON,
    BeatFactory,
    CatchFactory,
    PoolFactory,
    client_of,
    guest_with_account,
)

WEIRD = '=cmd|" /C calc"!A0'
FILES = "/api/v1/fisheries/upper-water/fish/"


@pytest.fixture
def beat(db):
    return BeatFactory(fishery__slug="upper-water", fishery__latitude=57.61, fishery__longitude=-5.35)


@pytest.fixture
def fish(beat):
    guest = guest_with_account(beat.fishery, name="Ailsa Nobody")
    first = CatchFactory(
        beat=beat, pool=PoolFactory(beat=beat, slug="long-alder"), guest=guest, fly=WEIRD, level_m=0.62,
        water_c=9.5, length_cm=Decimal("77.5"), note='Two,\r\n"three"', scale_sample=True, sex="hen",
    )  # fmt: skip
    second = CatchFactory(beat=beat, caught_at=NOON + dt.timedelta(days=1, microseconds=7), weight_kg=None)
    CatchFactory(beat=beat, caught_at=NOON - dt.timedelta(days=365), kind="kelt")
    CatchFactory(beat=beat, struck_out_at=NOON)
    CatchFactory()
    return first, second


def fetch(client, **asked):
    response = client.get(FILES, asked)
    assert response.status_code == 200
    return response.getvalue()


@pytest.fixture
def client(owner):
    return client_of(owner)


def rows_of(data):
    return list(csv.DictReader(io.StringIO(data.decode(), newline="")))


def test_the_csv_holds_each_fish_once_and_no_formula(client, fish):
    *rows, _closing = rows_of(fetch(client, format="csv", season=2026))
    assert [row["id"] for row in rows] == [str(each.pk) for each in fish]
    assert rows[0] == {
        "id": str(fish[0].pk), "beat": fish[0].beat.slug, "pool": "long-alder", "caught_on": "2026-05-06",
        "caught_at": "2026-05-06T11:00:00Z", "kind": "msw", "fate": "released", "weight_kg": "4.50",
        "weight_how": "", "length_cm": "77.5", "length_how": "",
        "condition": "", "sex": "hen", "part": "", "method": "", "fly": f"'{WEIRD}", "level_m": "0.62",
        "water_c": "9.5", "tag": "", "scale_sample": "true", "note": 'Two,  "three"',
    }  # fmt: skip
    assert rows[1]["weight_kg"] == rows[1]["pool"] == ""


def test_the_csv_is_rfc_4180_with_a_count_and_a_hash_at_the_end(client, fish):
    data = fetch(client, format="csv")
    body, closing = data.rsplit(b"\r\n", 2)[:2]
    digest = hashlib.sha256(body + b"\r\n").hexdigest()
    assert closing.decode() == f"#rows=3 sha256={digest}"
    assert data.count(b"\n") == data.count(b"\r\n") == 5
    assert data.startswith(",".join(NAMES).encode() + b"\r\n")


def test_nobody_is_named_in_any_file(client, fish):
    names = (b"Ailsa", fish[0].guest.email.encode(), fish[0].guest.phone.encode())
    for asked in ({"format": "csv"}, {"format": "jsonl"}, {"format": "parquet"}):
        data = fetch(client, **asked)
        assert [name for name in names if name in data] == []


def test_json_lines_say_the_same_and_close_the_same(client, fish):
    data = fetch(client, format="jsonl", season=2026)
    *rows, closing = [json.loads(line) for line in data.decode().splitlines()]
    assert [tuple(row) for row in rows] == [NAMES, NAMES]
    assert (rows[0]["fly"], rows[0]["note"], rows[0]["scale_sample"]) == (WEIRD, 'Two,\r\n"three"', True)
    assert (rows[0]["weight_kg"], rows[1]["weight_kg"], rows[1]["fly"]) == (4.5, None, None)
    body = data[: data.rindex(b'{"rows"')]
    assert closing == {"rows": 2, "sha256": hashlib.sha256(body).hexdigest()}


def test_parquet_keeps_the_kinds_of_things(client, fish):
    table = pq.read_table(io.BytesIO(fetch(client, format="parquet", season=2026)))
    first, second = table.to_pylist()
    assert (first["weight_kg"], first["length_cm"], second["weight_kg"]) == (
        Decimal("4.50"),
        Decimal("77.50"),
        None,
    )
    assert (first["caught_at"], first["caught_on"]) == (NOON, NOON.date())
    assert (first["id"], first["scale_sample"], first["level_m"]) == (fish[0].pk, True, 0.62)
    assert tuple(table.column_names) == NAMES


def test_parquet_carries_its_count_and_the_hash_of_its_row_groups(client, fish):
    data = fetch(client, format="parquet")
    told = pq.read_metadata(io.BytesIO(data)).metadata
    assert told[b"rows"] == b"3"
    footer = int.from_bytes(data[-8:-4], "little") + 8
    assert told[b"sha256"].decode() == hashlib.sha256(data[:-footer]).hexdigest()


def test_an_empty_book_is_a_whole_file(client, beat):
    empty = hashlib.sha256(b"").hexdigest()
    assert fetch(client, format="csv").decode().split("\r\n")[1].startswith("#rows=0 sha256=")
    assert json.loads(fetch(client, format="jsonl")) == {"rows": 0, "sha256": empty}
    assert pq.read_table(io.BytesIO(fetch(client, format="parquet"))).num_rows == 0


def test_a_second_reader_finds_the_csv_as_its_schema_says(client, fish, tmp_path):
    (tmp_path / "fish.csv").write_bytes(fetch(client, format="csv"))
    with frictionless.system.use_context(trusted=True):
        told = table_dialect()
        dialect = frictionless.Dialect.from_descriptor({"commentChar": told["commentChar"]})
        resource = frictionless.Resource(
            path=str(tmp_path / "fish.csv"),
            dialect=dialect,
            schema=frictionless.Schema.from_descriptor(table_schema()),
        )
        report = resource.validate()
    assert (report.valid, report.flatten(["note"]), report.tasks[0].stats["rows"]) == (True, [], 3)


def test_the_second_reader_would_find_a_fault(client, fish, tmp_path):
    (tmp_path / "fish.csv").write_bytes(fetch(client, format="csv").replace(b",msw,", b",shark,"))
    with frictionless.system.use_context(trusted=True):
        schema = frictionless.Schema.from_descriptor(table_schema())
        dialect = frictionless.Dialect.from_descriptor({"commentChar": "#"})
        report = frictionless.Resource(path=str(tmp_path / "fish.csv"), schema=schema, dialect=dialect).validate()
    assert {fault[0] for fault in report.flatten(["type"])} == {"constraint-error"}


def test_the_schema_over_the_wire_names_every_column(client, beat):
    told = client.get(f"{FILES}schema/").json()
    assert [field["name"] for field in told["schema"]["fields"]] == list(NAMES)
    assert told["dialect"]["commentChar"] == "#"


@settings(max_examples=200, deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=12))
@example("Ally\n=1")
@example("9\r\n2")
@example("\n=1")
@example("z")
@example("~")
def test_the_sql_disarms_a_cell_exactly_as_python_does(django_db_setup, django_db_blocker, text):
    plain = text.replace("\r", " ").replace("\n", " ")
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        kind = "CAST(%s AS text)"
        times = _text("x.t", connection.vendor).replace("%", "%%")
        cursor.execute(f"SELECT {times} FROM (SELECT {kind} AS t) x", [text])
        assert (cursor.fetchone()[0] or "") == safe_cell(plain)


@pytest.mark.parametrize("sign", ["=", "+", "-", "@", "\t", "\uff1d", "\uff0b", "\uff0d", "\uff20", "  ="])
def test_every_sign_is_disarmed_on_the_way_out(client, beat, sign):
    CatchFactory(beat=beat, fly=f"{sign}1")
    assert rows_of(fetch(client, format="csv"))[0]["fly"] == f"'{sign}1"


def test_nothing_harmless_begins_a_formula():
    assert not [sign for sign in TRIGGERS for low, high in HARMLESS if low <= sign <= high]


def test_an_instant_is_in_utc_to_the_second_whatever_the_server_s_style_of_dates(beat):
    last = dt.datetime(2026, 5, 6, 9, 5, 7, 999_999, tzinfo=dt.UTC)
    CatchFactory(beat=beat, caught_on=last.date(), caught_at=last)
    blocks = stream.csv_stream(beat.fishery)
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SET LOCAL DateStyle = 'SQL, DMY'")
    row = rows_of(b"".join(blocks))[0]
    assert (row["caught_on"], row["caught_at"]) == ("2026-05-06", "2026-05-06T09:05:07Z")


def test_totals_follow_the_filters_of_the_list(client, fish):
    asked = {"season": 2026, "species": "salmon"}
    assert client.get("/api/v1/catches/totals/", asked).json() == [
        {"kind": "msw", "fate": "released", "number": 2, "weight_kg": "4.50", "unweighed": 1}
    ]
    assert client.get("/api/v1/catches/totals/", {"fate": "kept"}).json() == []


def test_a_guest_s_totals_are_their_own(fish):
    told = client_of(fish[0].guest.user).get("/api/v1/catches/totals/").json()
    assert [row["number"] for row in told] == [1]


def test_an_unknown_format_and_an_odd_season_are_refused(client, beat):
    assert client.get(FILES, {"format": "xls"}).status_code == 400
    response = client.get(FILES, {"format": "csv", "season": "last"})
    assert (response.status_code, list(response.json()["errors"])) == (400, ["season"])
    assert client.get(FILES, {"format": "csv", "sort": "id"}).status_code == 400


def occurrences(client):
    return rows_of(client.get("/api/v1/fisheries/upper-water/occurrences/").getvalue())


def test_occurrences_are_blurred_and_name_nobody(client, fish):
    rows = occurrences(client)
    assert tuple(rows[0]) == TERMS
    place = {
        (row["decimalLatitude"], row["decimalLongitude"], row["coordinateUncertaintyInMeters"]) for row in rows
    }
    assert place == {("57.65", "-5.35", "6315")}
    assert not re.search("Ailsa|long-alder", str(rows))


def test_occurrences_are_of_our_two_species_and_by_their_scientific_name(client, beat):
    for kind in Catch.Kind.values:
        CatchFactory(beat=beat, kind=kind)
    told = [(row["scientificName"], row["establishmentMeans"]) for row in occurrences(client)]
    salmon, trout, escaped = ("Salmo salar", "native"), ("Salmo trutta", "native"), ("Salmo salar", "introduced")
    assert told == [salmon, salmon, trout, trout, escaped, escaped, salmon]


@given(st.floats(-89, 89), st.floats(-179, 179))
def test_the_true_place_lies_within_the_uncertainty_given(latitude, longitude):
    north, east, metres = blurred(latitude, longitude)
    assert abs(north - latitude) <= 0.0501
    assert abs(east - longitude) <= 0.0501
    assert metres <= 7900


@pytest.mark.django_db(transaction=True)
def test_the_file_is_the_book_as_it_stood_when_it_began(monkeypatch):
    monkeypatch.setattr(stream, "PIECES", 1)
    monkeypatch.setattr(stream, "ROWS", 1)
    beat = BeatFactory(fishery__slug="upper-water")
    CatchFactory.create_batch(3, beat=beat)
    blocks = stream.csv_stream(beat.fishery)
    first = [next(blocks), next(blocks)]
    _elsewhere(lambda: CatchFactory(beat=beat))
    _elsewhere(lambda: Catch.objects.update(fate="kept"))
    rest = list(blocks)
    assert (len(first) + len(rest), rest[-1][:8], Catch.objects.count()) == (5, b"#rows=3 ", 4)
    assert b"kept" not in b"".join(rest)


def _elsewhere(act):
    """On a connection of its own."""

    def run():
        act()
        connection.close()

    thread = threading.Thread(target=run)
    thread.start()
    thread.join()
