"""Sheet, calendar and picture over the wire: who gets what of them, and in which form."""

import csv
import datetime as dt
import io

import pytest
from icalendar import Calendar
from pypdf import PdfReader

from beats.models import Membership
from tests.factories import (
    NOON,
    BeatFactory,
    DayPartFactory,
    GuestFactory,
    PoolFactory,
    RotaFactory,
    TurnFactory,
    UserFactory,
    client_of,
    guest_with_account,
    keeper,
)

pytestmark = pytest.mark.django_db

SATURDAY, SUNDAY = dt.date(2026, 3, 28), dt.date(2026, 3, 29)
HOUR = dt.timedelta(hours=1)


@pytest.fixture
def beat():
    """With a keeper who can be rung."""
    beat = BeatFactory(name="Upper", slug="upper", meeting_point="the hut")
    ghillie = UserFactory(name="Callum Baird", phone="+447700900102")
    Membership.objects.create(user=ghillie, fishery=beat.fishery, role="ghillie")
    DayPartFactory(fishery=beat.fishery, slug="morning", name="morning")
    return beat


@pytest.fixture
def una(beat):
    return guest_with_account(beat.fishery, name="Una")


@pytest.fixture
def rota(beat, una):
    """Una on rod 1 on the Saturday and the Sunday of the spring change, Ben on rod 2."""
    rota = publish(beat, version=1)
    ben = GuestFactory(fishery=beat.fishery, name="Ben")
    for day in (SATURDAY, SUNDAY):
        add(rota, 1, una, "Head", day=day)
    add(rota, 2, ben, "=Neck")
    return rota


def publish(beat, *, version, status="published", worth=()):
    rota = RotaFactory(
        beat=beat, first_on=dt.date(2026, 3, 23), version=version, status=status,
        published_at=None if status == "draft" else NOON + version * HOUR,
    )  # fmt: skip
    rota.certificate["worth_by_rod"] = [{"rod": rod, "worth_per_turn": value} for rod, value in worth]
    rota.save()
    return rota


def add(rota, rod, guest, pool, *, day=SATURDAY, **facts):
    part = rota.beat.fishery.parts.get()
    place = PoolFactory(beat=rota.beat, name=pool, **facts)
    return TurnFactory(rota=rota, day=day, part=part, rod=rod, guest=guest, pool=place)


def get(user, rota, path, **headers):
    return client_of(user).get(f"/api/v1/rotas/{rota.pk}/{path}", headers=headers)


def owner(rota):
    return keeper(rota.beat.fishery)


def cells(response):
    return list(csv.reader(io.StringIO(response.content.decode())))


def events(response):
    found = Calendar.from_ical(response.content).walk("VEVENT")
    return [(str(event["SUMMARY"]), str(event["STATUS"]), event["SEQUENCE"]) for event in found]


def test_the_sheet_comes_as_html_pdf_or_csv(rota):
    kinds = {
        "?format=html": "text/html",
        "?format=pdf": "application/pdf",
        "?format=csv": "text/csv",
        "": "text/html",
    }
    for query, kind in kinds.items():
        response = get(owner(rota), rota, f"sheet/{query}")
        assert (response.status_code, response.headers["Content-Type"].split(";")[0]) == (200, kind)
        assert response.headers["Cache-Control"] == "no-store"


def test_a_rota_that_lost_all_its_turns_prints_an_empty_sheet(beat):
    rota = publish(beat, version=1)
    shown, printed, lines = (get(owner(rota), rota, f"sheet/?format={kind}") for kind in ("html", "pdf", "csv"))
    assert "None. Nobody is on this rota." in shown.content.decode()
    (page,) = PdfReader(io.BytesIO(printed.content)).pages
    assert "Nobody is on this rota." in page.extract_text()
    assert len(list(csv.reader(io.StringIO(lines.content.decode())))) == 1  # the heading
    assert get(owner(rota), rota, "picture/").status_code == 200


@pytest.mark.parametrize("kind", ["text/html", "application/pdf", "text/csv"])
def test_the_accept_header_chooses_too(rota, kind):
    response = get(owner(rota), rota, "sheet/", accept=kind)
    assert response.headers["Content-Type"].split(";")[0] == kind


def test_a_form_there_is_none_of_is_refused_as_a_problem(rota):
    body = get(owner(rota), rota, "sheet/?format=docx").json()
    assert (body["type"], list(body["errors"])) == ("/api/v1/problems/invalid", ["format"])
    refused = get(owner(rota), rota, "sheet/", accept="image/png")
    assert (refused.status_code, refused.json()["type"]) == (406, "/api/v1/problems/not-acceptable")


def test_the_page_may_run_and_fetch_nothing(rota):
    policy = get(owner(rota), rota, "sheet/").headers["Content-Security-Policy"]
    assert policy == "default-src 'none'; style-src 'unsafe-inline'"


def test_the_lines_are_the_turns_and_no_formula(rota):
    response = get(owner(rota), rota, "sheet/?format=csv")
    assert cells(response)[1:] == [
        ["2026-03-28", "morning", "09:00", "13:00", "1", "Una", "Head", ""],
        ["2026-03-28", "morning", "09:00", "13:00", "2", "Ben", "'=Neck", ""],
        ["2026-03-29", "morning", "09:00", "13:00", "1", "Una", "Head", ""],
    ]
    assert response.headers["Content-Disposition"] == 'attachment; filename="rota-upper-2026-03-23-v1.csv"'


def test_a_guest_s_sheet_is_their_own_line_in_every_form(rota, una):
    assert {row[5] for row in cells(get(una.user, rota, "sheet/?format=csv"))[1:]} == {"Una"}
    html = get(una.user, rota, "sheet/").content.decode()
    (page,) = PdfReader(io.BytesIO(get(una.user, rota, "sheet/?format=pdf").content)).pages
    for text in (html, page.extract_text()):
        assert "Only the turns of Una" in text
        assert "Ben" not in text
        assert "Neck" not in text


def test_the_sheet_has_law_light_and_numbers(rota):
    html = get(owner(rota), rota, "sheet/").content.decode()
    # Entry 51, Wester Ross: catch and release from 11 February to 31 March (SSI 2014/327, Schedule).
    assert "Mon 23 Mar: release only. Sunrise " in html
    assert "Sun 29 Mar: CLOSED. Sunrise " in html
    assert "Sun: Nobody may fish for salmon on a Sunday." in html
    assert "Callum Baird, ghillie: +44 7700 900102" in html


@pytest.mark.parametrize(
    ("status", "says"), [("draft", "DRAFT: not yet"), ("superseded", "REPLACED: a newer rota holds")]
)
def test_a_sheet_that_does_not_hold_says_so(beat, una, status, says):
    rota = publish(beat, version=1, status=status)
    add(rota, 1, una, "Head")
    assert says in get(owner(rota), rota, "sheet/").content.decode()
    assert get(una.user, rota, "sheet/").status_code == 404


def test_a_guest_need_not_say_whose_calendar(rota, una):
    response = get(una.user, rota, "calendar/")
    assert response.headers["Content-Type"] == "text/calendar; charset=utf-8"
    starts = [event["DTSTART"].dt for event in Calendar.from_ical(response.content).walk("VEVENT")]
    # Nine o'clock in Greenwich time on the Saturday, in summer time on the Sunday.
    assert starts == [
        dt.datetime(2026, 3, 28, 9, tzinfo=dt.UTC), dt.datetime(2026, 3, 29, 8, tzinfo=dt.UTC)
    ]  # fmt: skip


def test_keepers_name_a_guest_or_a_rod(rota, una):
    boss = owner(rota)
    assert events(get(boss, rota, f"calendar/?guest={una.pk}")) == events(get(boss, rota, "calendar/?rod=1"))
    assert events(get(boss, rota, "calendar/?rod=2")) == [("=Neck, Upper", "CONFIRMED", 1)]


@pytest.mark.parametrize(
    ("query", "field"),
    [("", "guest"), ("?guest=1&rod=1", "rod"), ("?rod=0", "rod"), ("?guest=x", "guest"), ("?who=1", "who")],
)
def test_a_calendar_of_nobody_is_refused_by_name(rota, query, field):
    response = get(owner(rota), rota, f"calendar/{query}")
    assert (response.status_code, list(response.json()["errors"])) == (400, [field])
    assert response.headers["Content-Type"] == "application/problem+json"


def test_there_is_no_calendar_for_those_without_a_turn(rota, una):
    stranger = GuestFactory()
    idle = GuestFactory(fishery=rota.beat.fishery)
    boss = owner(rota)
    for query in (f"?guest={stranger.pk}", f"?guest={idle.pk}", "?rod=9"):
        assert get(boss, rota, f"calendar/{query}").status_code == 404
    ben = rota.turns.get(rod=2).guest
    for query in (f"?guest={ben.pk}", "?rod=2"):
        assert get(una.user, rota, f"calendar/{query}").status_code == 404


def test_a_newer_rota_changes_the_events_and_cancels_those_it_lacks(beat, una, rota):
    rota.status = "superseded"
    rota.save()
    newer = publish(beat, version=2)
    add(newer, 1, una, "Tail")
    for user, which in ((una.user, newer), (owner(rota), newer), (owner(rota), rota)):
        assert events(get(user, which, f"calendar/?guest={una.pk}")) == [
            ("Tail, Upper", "CONFIRMED", 2),
            ("Cancelled: Head, Upper", "CANCELLED", 2),
        ]


def test_a_guest_who_moves_to_another_rod_loses_the_old_event(beat, una, rota):
    rota.status = "superseded"
    rota.save()
    newer = publish(beat, version=2)
    for rod, guest in ((2, una), (1, rota.turns.get(rod=2).guest)):
        add(newer, rod, guest, f"Pool {rod}")
    found = Calendar.from_ical(get(una.user, newer, "calendar/").content).walk("VEVENT")
    assert [(event["UID"].split(".", 2)[2], event["STATUS"]) for event in found] == [
        ("2026-03-23.2026-03-28.morning.rod2@rodtally", "CONFIRMED"),
        ("2026-03-23.2026-03-28.morning.rod1@rodtally", "CANCELLED"),
        ("2026-03-23.2026-03-29.morning.rod1@rodtally", "CANCELLED"),
    ]


def test_a_draft_cancels_nothing(beat, una, rota):
    draft = publish(beat, version=2, status="draft")
    add(draft, 1, una, "Tail")
    assert events(get(owner(rota), draft, "calendar/?rod=1")) == [("Draft: Tail, Upper", "TENTATIVE", 2)]


def test_a_pool_s_place_and_way_in_are_on_the_event(beat, una):
    rota = publish(beat, version=1)
    add(rota, 1, una, "Head", latitude=57.62, longitude=-5.33, access="gate by the kiln")
    (event,) = Calendar.from_ical(get(una.user, rota, "calendar/").content).walk("VEVENT")
    assert (event["GEO"].latitude, event["GEO"].longitude) == (57.62, -5.33)
    assert "Way in: gate by the kiln\nMeet at: the hut\n" in event["DESCRIPTION"]
    assert event["DESCRIPTION"].endswith("ask for the police. Rodtally is not an emergency service.")


def test_the_picture_shows_what_was_replaced_beside_what_replaced_it(beat):
    publish(beat, version=1, status="superseded", worth=[("Ana", 7)])
    old = publish(beat, version=2, status="superseded", worth=[("Una", 8.5)])
    new = publish(beat, version=3, worth=[("Una", 9.25)])
    draft = publish(beat, version=4, status="draft", worth=[("Una", 9.5)])
    asked = {one.version: get(owner(new), one, "picture/").content.decode() for one in (old, new, draft)}
    assert {version: headings(text) for version, text in asked.items()} == {
        2: ["Version 2: replaced", "Version 3: the week's rota"],
        3: ["Version 2: replaced", "Version 3: the week's rota"],
        4: ["Version 3: the week's rota", "Version 4: draft"],
    }
    assert "8.50" in asked[3]
    assert "9.25" in asked[3]


def headings(svg):
    return [text.split("<")[0] for text in svg.split(">") if text.startswith("Version ")]


def test_a_first_rota_s_picture_stands_alone(beat, una):
    rota = publish(beat, version=1, worth=[("Una", 9)])
    add(rota, 1, una, "Head")
    response = get(owner(rota), rota, "picture/")
    assert response.headers["Content-Type"] == "image/svg+xml; charset=utf-8"
    assert headings(response.content.decode()) == ["Version 1: the week's rota"]
    assert get(una.user, rota, "picture/").json()["type"] == "/api/v1/problems/not-your-part"
