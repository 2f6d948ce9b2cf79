"""An owner's spreadsheet: every fault named by its row, then all of it or nothing."""

import datetime as dt
import io

import pytest
from openpyxl import Workbook

from beats.models import AuditEntry
from bookings.api.imports import XLSX
from bookings.models import Guest, Let, LetImport, RodDay
from tests.bookings.book import MONDAY, claims, let
from tests.factories import BeatFactory, GuestFactory, client_of, keeper

pytestmark = pytest.mark.django_db

HEAD = "guest,email,phone,beat,first day,last day,rods,kind\n"
GOOD = HEAD + (
    "Ailsa Roe,ailsa@example.org,07700 900123,Upper,2026-05-11,2026-05-16,2,week\n"
    "Una Teal,,,upper,18/05/2026,,1,\n"
    "\n"
    "Ailsa Roe,ailsa@example.org,,Upper,2026-05-19,2026-05-20,1,day\n"
)


@pytest.fixture
def beat():
    return BeatFactory(rods=2, name="Upper", fishery__name="Durr Water")


@pytest.fixture
def send(beat):
    client = client_of(keeper(beat.fishery))

    def sending(verb, body, kind="text/csv", **headers):
        body = body.encode() if isinstance(body, str) else body
        path = f"/api/v1/fisheries/{beat.fishery.slug}/lets/{verb}/"
        return client.generic("POST", path, body, content_type=kind, headers=headers)

    return sending


def workbook(*rows):
    book = Workbook()
    for row in rows:
        book.active.append(row)
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def counts():
    return [model.objects.count() for model in (Let, RodDay, Guest, LetImport, AuditEntry)]


def test_a_preview_says_what_would_come_and_writes_nothing(send):
    told = send("preview", GOOD).json()
    assert told == {
        "lets": 3, "new_guests": ["Ailsa Roe", "Una Teal"], "faults": [], "duplicates": [],
        "letters": 0, "letters_if_notified": 0,
    }  # fmt: skip
    assert counts() == [0, 0, 0, 0, 0]


def test_every_row_is_taken_in_with_its_guests(beat, send):
    known = GuestFactory(fishery=beat.fishery, name="una teal")
    answer = send("import", GOOD)
    assert (answer.status_code, answer.json()["rows"], answer.json()["new_guests"]) == (201, 3, 1)
    told = Let.objects.order_by("pk").values_list("booker__name", "first_on", "last_on", "rods", "kind")
    assert list(told) == [
        ("Ailsa Roe", MONDAY, dt.date(2026, 5, 16), 2, "week"),
        ("una teal", dt.date(2026, 5, 18), dt.date(2026, 5, 18), 1, "day"),
        ("Ailsa Roe", dt.date(2026, 5, 19), dt.date(2026, 5, 20), 1, "day"),
    ]
    ailsa = Guest.objects.get(email="ailsa@example.org")
    assert (ailsa.phone, known.lets.count(), ailsa.lets.count()) == ("+447700900123", 1, 2)


def test_the_same_file_again_changes_nothing(send):
    first, again = send("import", GOOD), send("import", GOOD)
    assert (first.status_code, again.status_code, again.json()) == (201, 200, first.json())
    assert (Let.objects.count(), LetImport.objects.count()) == (3, 1)


def test_a_key_used_for_one_file_is_refused_for_another(send):
    key = {"Idempotency-Key": "spreadsheet-of-2026"}
    answers = [send("import", body, **key).status_code for body in (GOOD, GOOD, HEAD)]
    assert answers == [201, 200, 422]


FAULTY = HEAD + (
    "Ailsa Roe,,,Upper,2026-05-11,2026-05-16,1,week\n"  # 2: good
    "Una Teal,,,Upper,2026-05-13,2026-05-13,2,\n"  # 3: clashes with row 2
    "Una Teal,,,Lowest,2026-05-18,,1,\n"  # 4: no such beat
    "Una Teal,una,12,Upper,2026-02-29,,-1,year\n"  # 5: five faults
    "Una Teal,,,Upper,2026-05-16,2026-05-18,1,\n"  # 6: over a Sunday
    "Una Teal,,,Upper,2026-06-01,,1,,more\n"  # 7: too many cells
    "Una Teal,,,Upper,2026-06-02,,=1+1,\n"  # 8: a formula where a number belongs
    "Una Teal,,,Upper,2026-06-03,,1.5,\n"  # 9
)


def test_every_clash_and_fault_is_named_by_its_row(send):
    told = send("preview", FAULTY).json()
    assert [(fault["row"], fault["column"]) for fault in told["faults"]] == [
        (3, "rods"), (4, "beat"), (5, "first day"), (5, "email"), (5, "phone"), (5, "rods"), (5, "kind"),
        (6, "first day"), (7, ""), (8, "rods"), (9, "rods"),
    ]  # fmt: skip
    texts = [fault["text"] for fault in told["faults"]]
    assert texts[0].endswith("Wednesday 13 May: 1 left. Choose other days or fewer rods. "
                             "In this file rows 2 take these days too.")  # fmt: skip
    assert texts[1] == "Durr Water has no beat Lowest."
    assert texts[2] == "2026-02-29 is no date. Write 2027-05-04."
    assert "Nobody may fish for salmon on a Sunday." in texts[7]
    assert texts[9] == "This is a formula. Write the value itself."
    assert told["lets"] == 1


def test_one_faulty_row_keeps_every_row_out(send):
    answer = send("import", FAULTY)
    assert (answer.status_code, answer.json()["type"]) == (409, "/api/v1/problems/faulty-rows")
    assert set(answer.json()["errors"]) == {f"row {number}" for number in (4, 5, 6, 7, 8, 9)} - {"row 4", "row 6"}
    assert counts() == [0, 0, 0, 0, 0]


def test_a_clash_with_the_book_keeps_every_row_out(beat, send):
    stands = let(beat, rods=1, last_on=MONDAY)
    before = counts()
    answer = send("import", GOOD)
    assert (answer.status_code, list(answer.json()["errors"])) == (409, ["row 2"])
    assert (counts(), claims(stands)) == (before, [(MONDAY, 1, None)])


def test_a_workbook_is_read_like_the_csv_and_its_formulas_are_text(send):
    rows = [
        ["Guest", "Beat", "First day", "Last_day", "Rods"],
        ['=HYPERLINK("http://x.example","Ailsa")', "Upper", MONDAY, MONDAY + dt.timedelta(days=1), 1],
        ["Una \N{FISHING POLE AND FISH}", "Upper", "2026-05-13", None, 2.0],
    ]
    answer = send("import", workbook(*rows), XLSX)
    assert answer.status_code == 201
    assert list(Guest.objects.order_by("pk").values_list("name", flat=True)) == [row[0] for row in rows[1:]]
    assert list(Let.objects.order_by("pk").values_list("first_on", "last_on", "rods")) == [
        (MONDAY, dt.date(2026, 5, 12), 1), (dt.date(2026, 5, 13), dt.date(2026, 5, 13), 2),
    ]  # fmt: skip


def test_a_formula_in_a_date_of_a_workbook_is_a_fault(send):
    told = send("preview", workbook(["guest", "beat", "first day", "rods"], ["A", "Upper", "=TODAY()", 1]), XLSX)
    assert told.json()["faults"] == [
        {"row": 2, "column": "first day", "text": "This is a formula. Write the value itself."}
    ]


@pytest.mark.parametrize(
    ("body", "kind"),
    [
        ("", "text/csv"),
        ("guest,beat\n", "text/csv"),
        ("guest,beat,first day,rods,price\n", "text/csv"),
        ("guest,guest,beat,first day,rods\n", "text/csv"),
        (b"\xff\xfe\x00", "text/csv"),
        ('guest,beat,first day,rods\n"A', "text/csv"),
        (b"PK not a workbook", XLSX),
        (b"", XLSX),
        (HEAD + "A,,,Upper,2026-05-11,,1,\n" * 1001, "text/csv"),
    ],
)
def test_what_is_no_table_of_lets_is_refused_with_what_to_do(send, body, kind):
    for verb in ("preview", "import"):
        answer = send(verb, body, kind)
        assert (answer.status_code, answer.json()["type"]) == (400, "/api/v1/problems/bad-file")
    assert LetImport.objects.count() == 0


def test_two_guests_of_one_name_need_their_address(beat, send):
    GuestFactory.create_batch(2, fishery=beat.fishery, name="Una Teal")
    told = send("preview", "guest,beat,first day,rods\nUNA TEAL,Upper,2026-05-11,1\n").json()
    assert told["faults"] == [
        {
            "row": 2,
            "column": "guest",
            "text": "The book has several guests called UNA TEAL. Give the e-mail address.",
        }
    ]
