"""Every failure is a problem document that a person can act on, and nothing a caller sends breaks the service."""

import base64
import datetime as dt
import json

import pytest
from django.test import Client
from django.utils import timezone

from beats.authentication import issue_token
from tests.factories import BeatFactory, GaugeFactory, GuestFactory, RodDayFactory, client_of, keeper

pytestmark = pytest.mark.django_db

HUGE = 10**30
GUEST = {"name": "Una Teal"}


@pytest.fixture
def beat():
    beat = BeatFactory(fishery__slug="water")
    beat.gauge = GaugeFactory(fishery=beat.fishery)
    beat.save()
    return beat


@pytest.fixture
def owner(beat):
    return client_of(keeper(beat.fishery))


def problem(response, status, code):
    """The body, once it is seen to be a problem document of that kind whose `type` can be looked up."""
    assert (response.status_code, response["Content-Type"]) == (status, "application/problem+json")
    body = response.json()
    assert (body["type"], body["status"]) == (f"/api/v1/problems/{code}", status)
    assert set(body) - {"errors"} == {"type", "title", "status", "detail"}
    assert all(body[name] for name in ("title", "detail"))
    meaning = Client().get(body["type"])
    assert (meaning.status_code, meaning.json()["code"], meaning.json()["status"]) == (200, code, status)
    return body


def post(client, path, body):
    return client.post(path, body, format="json")


def raw(client, path, text, content_type="application/json"):
    return client.generic("POST", path, text, content_type=content_type)


def test_every_fault_is_named_by_its_field_and_known_fields_are_listed(owner):
    body = problem(post(owner, "/api/v1/guests/", {"nmae": "Una", "fishery": "water"}), 400, "invalid")
    facts = "name, email, phone, emergency_contact_name, emergency_contact_phone, emergency_contact_email"
    known = f"{facts}, wading_grade, needs_ghillie, casting_shoulder, needs, wants_boat, fishery"
    assert body["errors"] == {"nmae": [f"Unknown field. This request takes: {known}."]}


def test_an_unknown_filter_is_refused_rather_than_ignored(owner):
    body = problem(owner.get("/api/v1/beats/", {"fishery": "water"}), 400, "invalid")
    assert body["errors"] == {
        "fishery": ["Unknown query parameter. This address takes: cursor, fishery__slug, page_size."]
    }  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [
        '{"level_m": NaN}',
        '{"level_m": Infinity}',
        '{"level_m": -Infinity}',
        '{"level_m": 0.5, "level_m": 0.6}',
        '{"level_m": 0.5',
        "",
        "\x00",
        "[" * 100_000,
        "1" * 5000,
    ],
)
def test_what_is_not_json_is_refused(owner, beat, text):
    response = raw(owner, f"/api/v1/gauges/{beat.gauge_id}/readings/", text)
    code = "invalid" if text == "" else "parse-error"
    problem(response, 400, code)


def test_text_that_is_not_utf8_is_refused(owner):
    problem(raw(owner, "/api/v1/guests/", b'{"name": "\xff\xfe"}'), 400, "parse-error")


@pytest.mark.parametrize("body", [[], "text", 5, None, True])
def test_json_that_is_no_object_is_refused(owner, body):
    problem(raw(owner, "/api/v1/guests/", json.dumps(body)), 400, "invalid")


@pytest.mark.parametrize("level", ["0.5", True, None, [], {}, 1e400, -1e400, 10**400, -(10**400), 500.1, -50.1])
def test_a_level_is_a_finite_number_of_this_world(owner, beat, level):
    text = json.dumps({"level_m": level}).replace("Infinity", "1e400")
    response = raw(owner, f"/api/v1/gauges/{beat.gauge_id}/readings/", text)
    assert list(problem(response, 400, "invalid")["errors"]) == ["level_m"]


@pytest.mark.parametrize(
    "at",
    [
        "2026-05-04T17:00:00", "2026-02-30T12:00:00Z", "yesterday", "2026-05-04", 5, None,
        "0001-01-01T00:00:00+05:00", "9999-12-31T23:59:59-05:00", "1949-12-31T23:59:59Z",
        "2026-05-04T17:00:00+99:00", "\x00",
    ],
)  # fmt: skip
def test_an_instant_needs_its_offset_and_a_year_of_ours(owner, beat, at):
    response = post(owner, f"/api/v1/gauges/{beat.gauge_id}/readings/", {"level_m": 0.5, "at": at})
    assert list(problem(response, 400, "invalid")["errors"]) == ["at"]


@pytest.mark.parametrize(
    "day", ["2026-02-30", "2026-13-01", "0001-01-01", "9999-12-31", "04/05/2026", 20260504, None]
)
def test_an_impossible_date_is_refused(owner, beat, day):
    body = {"beat": beat.pk, "booker": 1, "first_on": day, "last_on": "2026-05-09", "rods": 1}
    assert list(problem(post(owner, "/api/v1/lets/", body), 400, "invalid")["errors"]) == ["first_on"]


@pytest.mark.parametrize("rods", [-1, 0, 61, HUGE, 1.5, "many", None, [], True])
def test_a_number_of_rods_that_no_beat_has_is_refused(owner, beat, rods):
    body = {"beat": beat.pk, "booker": 1, "first_on": "2026-05-04", "last_on": "2026-05-09", "rods": rods}
    assert list(problem(post(owner, "/api/v1/lets/", body), 400, "invalid")["errors"]) == ["rods"]


@pytest.mark.parametrize("identity", [0, -1, HUGE, "x", None, [1], True])
def test_an_id_that_cannot_be_is_refused(owner, identity):
    body = {"beat": identity, "booker": 1, "first_on": "2026-05-04", "last_on": "2026-05-09", "rods": 1}
    assert list(problem(post(owner, "/api/v1/lets/", body), 400, "invalid")["errors"]) == ["beat"]


def test_an_id_that_could_be_but_is_not_is_not_found(owner):
    body = {"beat": 2**63 - 1, "booker": 1, "first_on": "2026-05-04", "last_on": "2026-05-09", "rods": 1}
    problem(post(owner, "/api/v1/lets/", body), 404, "not-found")


@pytest.mark.parametrize("place", ["beats", "pools", "guests", "lets", "rotas", "outings", "catches", "alarms"])
@pytest.mark.parametrize("identity", [0, 2**63 - 1, 2**63, HUGE, "9" * 5000, -1, "x"])
def test_a_huge_or_senseless_id_in_the_path_is_not_found(owner, place, identity):
    problem(owner.get(f"/api/v1/{place}/{identity}/"), 404, "not-found")


@pytest.mark.parametrize(
    ("place", "filters"),
    [
        ("lets", ["beat", "booker"]), ("rod-days", ["beat", "let", "guest"]), ("outings", ["beat", "guest"]),
        ("catches", ["beat", "pool", "guest"]), ("turns", ["rota", "guest", "pool"]), ("alarms", ["outing"]),
    ],
)  # fmt: skip
@pytest.mark.parametrize("value", [0, -1, 2**63, HUGE, "x", "\x00", "1.5"])
def test_a_senseless_filter_value_is_refused_or_finds_nothing(owner, place, filters, value):
    for name in filters:
        problem(owner.get(f"/api/v1/{place}/", {name: value}), 400, "invalid")


@pytest.mark.parametrize("value", ["0001-01-01T00:00:00+05:00", "9999-12-31T23:59:59-05:00", "x", "\x00"])
@pytest.mark.parametrize("name", ["checked_in_at__gte", "checked_in_at__lt"])
def test_an_instant_outside_of_time_is_refused_as_a_filter(owner, name, value):
    assert list(problem(owner.get("/api/v1/outings/", {name: value}), 400, "invalid")["errors"]) == [name]


@pytest.mark.parametrize("place", ["x", "p=abc", "p=%00", "p=1e9999", "p=2026-02-30", "p=" + "9" * 5000])
@pytest.mark.parametrize("path", ["guests", "rod-days", "turns"])
def test_a_cursor_that_we_never_gave_is_not_found(owner, path, place):
    cursor = base64.b64encode(place.encode()).decode() if "=" in place else place
    problem(owner.get(f"/api/v1/{path}/", {"cursor": cursor}), 404, "not-found")


@pytest.mark.parametrize("path", ["guests", "rod-days"])
def test_a_cursor_that_we_gave_leads_through_the_whole_list_once(owner, beat, path):
    for day in range(4, 9):
        RodDayFactory(let__beat=beat, day=dt.date(2026, 5, day), guest=GuestFactory(fishery=beat.fishery))
    everything = [row["id"] for row in owner.get(f"/api/v1/{path}/").json()["results"]]
    found, page = [], f"/api/v1/{path}/?page_size=2"
    while page:
        body = owner.get(page).json()
        found, page = found + [row["id"] for row in body["results"]], body["next"]
    assert found == everything


@pytest.mark.parametrize("size", ["0", "-1", "x", ""])
def test_a_page_size_that_is_none_is_refused(owner, beat, size):
    body = problem(owner.get("/api/v1/guests/", {"page_size": size}), 400, "invalid")
    assert "page_size" in body["errors"]


def test_a_page_size_beyond_the_largest_gives_the_largest_page(owner, beat):
    GuestFactory.create_batch(3, fishery=beat.fishery)
    assert len(owner.get("/api/v1/guests/", {"page_size": str(HUGE)}).json()["results"]) == 3


@pytest.mark.parametrize("name", ["Una\x00Teal", "\ud800", "   ", "", "U" * 121, None, [], {"a": 1}])
def test_a_name_nobody_can_have_is_refused(owner, name):
    response = raw(owner, "/api/v1/guests/", json.dumps({"fishery": "water", "name": name}))
    assert response.status_code == 400
    assert response["Content-Type"] == "application/problem+json"


@pytest.mark.parametrize(
    "body",
    [
        {"fishery": "water", "name": "Una", "\ud800": 1},
        {"fishery": "water", "name": "Una", "wading_grade": "\udfff"},
        {"fishery": "water", "name": "Una", "phone": "\ud800"},
        {"fishery": "\ud800", "name": "Una"},
    ],
)
def test_half_a_character_is_refused_wherever_it_stands(owner, body):
    assert raw(owner, "/api/v1/guests/", json.dumps(body)).status_code == 400


@pytest.mark.parametrize("name", ["Ailsa \N{FISHING POLE AND FISH} Roe", "Siân Ó Briain", "李雷", "Zoë\u200d"])
def test_any_name_a_person_may_have_is_kept_and_returned(owner, name):
    made = post(owner, "/api/v1/guests/", {"fishery": "water", "name": name})
    assert made.status_code == 201
    assert owner.get(f"/api/v1/guests/{made.json()['id']}/").json()["name"] == name


def test_a_body_of_ten_megabytes_is_too_large(owner):
    text = json.dumps({"fishery": "water", "name": "U" * 10_000_000})
    problem(raw(owner, "/api/v1/guests/", text), 413, "body-too-large")


@pytest.mark.parametrize(
    "kind", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x"]
)
def test_what_is_sent_as_something_else_than_json_is_refused(owner, kind):
    problem(raw(owner, "/api/v1/guests/", "name=Una", kind), 415, "unsupported-media-type")


def test_an_answer_in_another_format_is_not_to_be_had(owner):
    problem(owner.get("/api/v1/guests/", headers={"Accept": "text/html"}), 406, "not-acceptable")


@pytest.mark.parametrize(
    "header", ["Bearer nonsense", "Bearer", "Bearer a b", "bearer \xe9", "Bearer " + "x" * 5000]
)
def test_a_bad_token_is_told_to_authenticate(header):
    response = Client().get("/api/v1/me/", headers={"Authorization": header})
    assert response["WWW-Authenticate"] == "Bearer"
    problem(response, 401, "authentication-failed")


@pytest.mark.parametrize("header", [None, "Basic dW5hOnRlYWw=", ""])
def test_no_token_is_told_to_authenticate(header):
    headers = {"Authorization": header} if header is not None else {}
    response = Client().get("/api/v1/me/", headers=headers)
    assert response["WWW-Authenticate"] == "Bearer"
    problem(response, 401, "not-authenticated")


def test_an_expired_token_or_a_closed_account_is_refused(beat):
    user, now = keeper(beat.fishery), timezone.now()
    old = issue_token(user, label="old", now=now - dt.timedelta(days=366))
    good = issue_token(user, label="good", now=now)
    ask = [Client().get("/api/v1/me/", headers={"Authorization": f"Bearer {token}"}) for token in (old, good)]
    assert [response.status_code for response in ask] == [401, 200]
    user.is_active = False
    user.save()
    response = Client().get("/api/v1/me/", headers={"Authorization": f"Bearer {good}"})
    problem(response, 401, "authentication-failed")


@pytest.mark.parametrize("path", ["/api/v1/nothing/", "/api/v1/beats", "/api/v1/problems/nothing"])
def test_an_address_that_is_not_there_is_a_problem_too(path):
    problem(Client().get(path), 404, "not-found")


def test_a_page_that_is_not_there_says_so_to_people():
    page = Client().get("/nothing")
    assert (page.status_code, page.headers["Content-Type"]) == (404, "text/html; charset=utf-8")
    assert "nothing here that you may see" in page.content.decode()


@pytest.mark.parametrize(
    ("method", "path"),
    [
        ("PUT", "/api/v1/guests/"),
        ("DELETE", "/api/v1/lets/"),
        ("POST", "/api/v1/me/"),
        ("PATCH", "/api/v1/beats/1/"),
    ],
)
def test_a_method_that_an_address_does_not_take(owner, method, path):
    problem(owner.generic(method, path), 405, "method-not-allowed")


@pytest.mark.parametrize(
    "path", ["lets/1/cancel", "outings/1/check-out", "outings/1/time-back", "rotas/1/publish"]
)
def test_a_deed_is_never_done_by_reading(owner, path):
    problem(owner.get(f"/api/v1/{path}/"), 405, "method-not-allowed")


def test_a_host_that_is_not_ours_is_refused_as_a_problem():
    problem(Client().get("/api/v1/me/", headers={"Host": "other.example"}), 400, "bad-request")


def test_every_kind_of_problem_is_listed_once_with_its_meaning():
    kinds = Client().get("/api/v1/problems/").json()
    codes = [kind["code"] for kind in kinds]
    assert len(codes) == len(set(codes))
    assert {"rods-taken", "day-closed", "not-your-part", "invalid", "fault", "busy"} <= set(codes)
    assert all(kind["title"] and kind["meaning"] and 400 <= kind["status"] <= 599 for kind in kinds)
    assert not any("safe" in kind["meaning"].lower() for kind in kinds)
