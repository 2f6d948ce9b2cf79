"""A file of lets sends no letter unless asked to, and lets nothing twice."""

import datetime as dt

import pytest
from django.core import mail
from django.utils import timezone

from bookings.models import Guest, Let, LetImport, Paper, RodDay
from bookings.services.holds import cancel_let
from bookings.services.lets import let_rods
from bookings.services.papers import send_papers
from tests.bookings.book import next_wednesday_in_may
from tests.bookings.test_taking_in_lets import XLSX, workbook
from tests.factories import NOON, BeatFactory, GuestFactory, client_of, keeper

pytestmark = pytest.mark.django_db

WEDNESDAY = next_wednesday_in_may()
THURSDAY, FRIDAY = (WEDNESDAY + dt.timedelta(days=n) for n in (1, 2))
HEAD = "guest,email,beat,first day,last day,rods,kind"
PAST = dt.date(2026, 5, 13)


@pytest.fixture
def beat():
    return BeatFactory(rods=6, name="Upper", slug="upper")


@pytest.fixture
def owner(beat):
    return keeper(beat.fishery)


@pytest.fixture
def send(beat, owner):
    client = client_of(owner)

    def sending(verb, *lines, kind="text/csv", body=None, **asked):
        body = body or "\n".join([HEAD, *lines, ""]).encode()
        path = f"/api/v1/fisheries/{beat.fishery.slug}/lets/{verb}/"
        return client.post(path + _query(asked), body, content_type=kind)

    return sending


def _query(asked):
    return "?" + "&".join(f"{name}={value}" for name, value in asked.items()) if asked else ""


def line(guest="Ailsa Roe", email="ailsa@example.org", *, beat="Upper", day=WEDNESDAY, rods=1, kind=""):
    return f"{guest},{email},{beat},{day},,{rods},{kind}"


LINES = [
    line(),
    line("Una Teal", "una@example.org", day=THURSDAY),
    line("Ian Pike", "", day=THURSDAY),  # no address
    line("Ailsa Roe", day=PAST),  # over already
]


def posted():
    send_papers(clock=timezone.now)
    return sorted(letter.to[0] for letter in mail.outbox)


def test_nobody_is_written_to_unless_asked(send):
    preview = send("preview", *LINES)
    assert (preview.json()["letters"], preview.json()["letters_if_notified"]) == (0, 2)
    answer = send("import", *LINES)
    assert (answer.status_code, answer.json()["letters"]) == (201, 0)
    assert (posted(), Let.objects.count()) == ([], 4)
    assert set(Paper.objects.values_list("state", flat=True)) == {"not_needed"}


def test_bookers_are_written_to_when_asked_and_the_preview_says_how_many(send):
    assert send("preview", *LINES, notify="true").json()["letters"] == 2
    answer = send("import", *LINES, notify="true")
    assert (answer.status_code, answer.json()["letters"]) == (201, 2)
    assert posted() == ["ailsa@example.org", "una@example.org"]


def test_a_later_change_of_a_let_from_a_file_is_told(send, owner):
    send("import", line())
    assert posted() == []
    cancel_let(Let.objects.get(), by=owner, now=timezone.now())
    assert posted() == ["ailsa@example.org"]


@pytest.mark.parametrize("asked", [{"notify": "maybe"}, {"skip_duplicates": "2"}, {"notfy": "true"}])
@pytest.mark.parametrize("verb", ["preview", "import"])
def test_what_is_asked_is_read_strictly(send, verb, asked):
    assert send(verb, line(), **asked).status_code == 400
    assert Let.objects.count() == 0


SAME = [
    line(),
    line("  AILSA   ROE "),  # blanks and letter case
    line("A. Roe", "AILSA@example.org "),  # the e-mail address decides
    line("ailsa roe", ""),  # no address: the name decides
    line(beat="UPPER"),
    line(kind="day"),
]


@pytest.mark.parametrize("second", SAME)
def test_two_lines_that_say_the_same_are_flagged_and_neither_is_let(send, second):
    preview = send("preview", line(), line("Una Teal", "una@example.org"), second).json()
    assert (preview["lets"], preview["faults"]) == (2, [])
    (flag,) = preview["duplicates"]
    assert (flag["row"], flag["same_as_row"], flag["let"]) == (4, 2, None)
    assert "row 2" in flag["text"]
    answer = send("import", line(), line("Una Teal", "una@example.org"), second)
    assert (answer.status_code, answer.json()["type"]) == (409, "/api/v1/problems/faulty-rows")
    assert list(answer.json()["errors"]) == ["row 4"]
    assert "skip_duplicates" in answer.json()["detail"]
    assert (Let.objects.count(), Guest.objects.count(), RodDay.objects.count()) == (0, 0, 0)


def test_a_name_without_address_first_and_with_it_later_is_one_booker(send):
    flags = send("preview", line("Ailsa Roe", ""), line("ailsa  roe")).json()["duplicates"]
    assert [(flag["row"], flag["same_as_row"]) for flag in flags] == [(3, 2)]


@pytest.mark.parametrize(
    "second",
    [
        line("Ailsa Roe", "another@example.org"),  # two people of one name
        line("Una Teal", "una@example.org"),
        line(day=THURSDAY),
        line(rods=2),
        line(beat="Lower"),
    ],
)
def test_lines_that_differ_are_not_flagged(beat, send, second):
    BeatFactory(fishery=beat.fishery, name="Lower", slug="lower", rods=2)
    assert send("preview", line(), second).json()["duplicates"] == []
    assert send("import", line(), second).status_code == 201
    assert Let.objects.count() == 2


def book(beat, owner, booker, **asked):
    facts = {"first_on": WEDNESDAY, "last_on": WEDNESDAY, "rods": 1, "by": owner, "now": timezone.now()}
    return let_rods(beat, booker=booker, **(facts | asked))[0]


@pytest.mark.parametrize("hold", [False, True])
@pytest.mark.parametrize("second", SAME)
def test_a_let_that_is_in_the_book_is_flagged(beat, owner, send, second, hold):
    known = GuestFactory(fishery=beat.fishery, name="Ailsa Roe", email="ailsa@example.org")
    made = book(beat, owner, known, hold=hold)
    (flag,) = send("preview", second).json()["duplicates"]
    assert (flag["row"], flag["same_as_row"], flag["let"]) == (2, None, made.pk)
    assert send("import", second).status_code == 409
    assert Let.objects.count() == 1


def test_a_guest_in_the_book_without_an_address_is_recognised_by_name(beat, owner, send):
    known = GuestFactory(fishery=beat.fishery, name="Åsa Lind", email="")
    made = book(beat, owner, known)
    (flag,) = send("preview", line("åsa  LIND", "asa@example.org")).json()["duplicates"]
    assert flag["let"] == made.pk


def test_a_cancelled_let_or_a_hold_that_ran_out_is_no_duplicate(beat, owner, send):
    known = GuestFactory(fishery=beat.fishery, name="Ailsa Roe", email="ailsa@example.org")
    cancel_let(book(beat, owner, known), by=owner, now=timezone.now())
    book(beat, owner, known, hold=True, now=NOON)
    assert send("preview", line()).json()["duplicates"] == []
    assert send("import", line()).status_code == 201


def test_duplicates_are_left_out_when_asked_and_named_in_the_answer(beat, owner, send):
    """The owner adds lines to last week's file and sends it again."""
    assert send("import", *LINES).status_code == 201
    longer = [*LINES, line("Una Teal", "una@example.org", day=FRIDAY), line(day=FRIDAY), line(day=FRIDAY)]
    refused = send("import", *longer)
    assert (refused.status_code, len(refused.json()["errors"])) == (409, 5)
    answer = send("import", *longer, skip_duplicates="true")
    assert (answer.status_code, answer.json()["rows"]) == (201, 2)
    assert [left["row"] for left in answer.json()["skipped"]] == [2, 3, 4, 5, 8]
    assert Let.objects.count() == 6
    again = send("import", *longer, skip_duplicates="true")
    assert (again.status_code, again.json()) == (200, answer.json())
    assert (Let.objects.count(), LetImport.objects.count()) == (6, 2)


def test_faults_still_refuse_everything_when_duplicates_are_left_out(send):
    answer = send("import", line(), line(), line(beat="Lowest"), skip_duplicates="true")
    assert (answer.status_code, list(answer.json()["errors"])) == (409, ["row 4"])
    assert Let.objects.count() == 0


def test_a_workbook_is_looked_through_alike(send):
    heading = HEAD.split(",")
    row = ["Ailsa Roe", "ailsa@example.org", "Upper", WEDNESDAY, None, 1.0, None]
    body = workbook(heading, row, [*row[:3], str(WEDNESDAY), str(WEDNESDAY), "1", "Day"])
    (flag,) = send("preview", body=body, kind=XLSX).json()["duplicates"]
    assert (flag["row"], flag["same_as_row"]) == (3, 2)
