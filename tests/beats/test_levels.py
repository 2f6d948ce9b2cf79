"""Levels that come many at once: in any order, twice, at odds; and an owner's file of them."""

import base64
import datetime as dt

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from beats.models import AuditEntry, Gauge, Reading
from beats.services.levels import Noted, note_readings
from beats.services.river import note_reading
from beats.water.feeds.levels import Level
from tests.factories import NOON, GaugeFactory, ReadingFactory, client_of, keeper

pytestmark = pytest.mark.django_db
QUARTER = dt.timedelta(minutes=15)
NOW = timezone.now().replace(microsecond=0)


@pytest.fixture
def gauge():
    return GaugeFactory(name="Bridge")


@pytest.fixture
def owner(gauge):
    return keeper(gauge.fishery)


def levels(*metres, until=NOON):
    """One a quarter of an hour, the last at `until`."""
    count = len(metres)
    return [Level(until - (count - 1 - n) * QUARTER, level_m) for n, level_m in enumerate(metres)]


def noted(gauge, some, source=Reading.Source.FEED):
    return note_readings(gauge, some, source=source, by=None, now=NOON)


def kept(gauge):
    return list(gauge.readings.order_by("at").values_list("at", "level_m", "source"))


class TestMany:
    def test_readings_out_of_order_and_twice_are_each_kept_once(self, gauge):
        some = levels(0.6, 0.61, 0.62)
        assert noted(gauge, [some[2], some[0], some[1], some[0]]) == Noted(added=3, known=1)
        assert kept(gauge) == [(level.at, level.level_m, "feed") for level in some]

    def test_the_same_again_changes_nothing_and_leaves_no_trace(self, gauge):
        noted(gauge, levels(0.6, 0.61))
        assert noted(gauge, levels(0.6, 0.61), source="csv") == Noted(known=2)
        assert set(Reading.objects.values_list("source", flat=True)) == {"feed"}
        assert AuditEntry.objects.count() == 1

    def test_the_level_noted_first_stands(self, gauge):
        ReadingFactory(gauge=gauge, at=NOON, level_m=0.6)
        assert noted(gauge, levels(0.5, 0.7)) == Noted(added=1, read_otherwise=1)
        assert [level for _, level, _ in kept(gauge)] == [0.5, 0.6]

    def test_a_jump_of_ten_metres_is_kept(self, gauge):
        assert noted(gauge, levels(0.6, 10.6, 0.6)) == Noted(added=3)

    def test_another_gauges_readings_of_the_same_instants_are_not_in_the_way(self, gauge):
        ReadingFactory(at=NOON, level_m=3.0)
        assert noted(gauge, levels(0.6)) == Noted(added=1)

    def test_more_than_one_batch_is_kept_whole(self, gauge):
        many = levels(*(0.5 + n / 10_000 for n in range(1201)))
        assert noted(gauge, many) == Noted(added=1201)
        assert noted(gauge, many[100:]) == Noted(known=1101)

    def test_one_audit_row_tells_how_many_and_from_when_to_when(self, gauge):
        noted(gauge, levels(0.6, 0.61))
        entry = AuditEntry.objects.get()
        assert (entry.verb, entry.subject, entry.by) == ("note readings", f"beats.gauge:{gauge.pk}", None)
        assert entry.after == {
            "source": "feed", "added": 2, "read_otherwise": 0, "first": str(NOON - QUARTER), "last": str(NOON),
        }  # fmt: skip

    def test_none_at_all_is_no_fault(self, gauge):
        assert noted(gauge, []) == Noted()


@pytest.mark.parametrize(
    "facts",
    [
        {"level_m": 500.1},
        {"level_m": -50.1},
        {"level_m": float("nan")},
        {"level_m": float("inf")},
        {"water_c": 40.1},
    ],
)
def test_the_database_itself_refuses_what_no_gauge_reads(gauge, facts):
    with pytest.raises(IntegrityError), transaction.atomic():
        Reading.objects.create(gauge=gauge, at=NOON, **{"level_m": 0.6} | facts)
    assert Reading.objects.count() == 0


@pytest.mark.parametrize(
    "feed", [("kiwis", None), (None, "https://a.example/"), ("kiwis", "http://a.example/"), ("kiwis", "")]
)
def test_the_database_itself_refuses_half_a_feed_and_plain_http(gauge, feed):
    with pytest.raises(IntegrityError), transaction.atomic():
        Gauge.objects.filter(pk=gauge.pk).update(feed_kind=feed[0], feed_url=feed[1])


def test_a_ghillies_reading_may_carry_the_waters_temperature(gauge, owner):
    body = {"level_m": 0.6, "water_c": 11.5}
    response = client_of(owner).post(f"/api/v1/gauges/{gauge.pk}/readings/", body, format="json")
    assert (response.status_code, response.json()["water_c"], response.json()["source"]) == (201, 11.5, "hand")


@pytest.mark.parametrize("water_c", [40.1, -1.1, "11.5", True])
def test_a_temperature_of_no_river_is_refused(gauge, owner, water_c):
    body = {"level_m": 0.6, "water_c": water_c}
    response = client_of(owner).post(f"/api/v1/gauges/{gauge.pk}/readings/", body, format="json")
    assert (response.status_code, list(response.json()["errors"])) == (400, ["water_c"])


class TestFile:
    def send(self, client, gauge, text, kind="text/csv"):
        return client.post(f"/api/v1/gauges/{gauge.pk}/readings/import/", text, content_type=kind)

    def test_a_file_is_kept_with_its_times_at_the_river(self, gauge, owner):
        text = "at,level_m,water_c\n2026-05-06 12:00,0.6,\n2026-05-06 11:45,0.5,9.5\n"
        client = client_of(owner)
        assert self.send(client, gauge, text).json() == {"added": 2, "known": 0, "read_otherwise": 0}
        assert self.send(client, gauge, text).json() == {"added": 0, "known": 2, "read_otherwise": 0}
        assert kept(gauge) == [(NOON - QUARTER, 0.5, "csv"), (NOON, 0.6, "csv")]

    def test_a_file_with_a_fault_is_refused_whole_with_its_line(self, gauge, owner):
        response = self.send(client_of(owner), gauge, "at,level_m\n2026-05-06 12:00,0.6\n2026-05-06 12:15,2 ft\n")
        body = response.json()
        assert (response.status_code, body["type"]) == (400, "/api/v1/problems/faulty-readings")
        assert body["errors"] == {"line 3": ["'2 ft' is no number of metres. Write the number alone, like 0.64."]}
        assert Reading.objects.count() == 0

    def test_a_file_still_to_come_is_refused(self, gauge, owner):
        late = (NOW + dt.timedelta(days=2)).isoformat()
        assert "still to come" in self.send(client_of(owner), gauge, f"at,level_m\n{late},0.6\n").json()["detail"]

    @pytest.mark.parametrize(
        ("text", "status"), [("", 400), ("x" * 1024 * 1024, 400), ("x" * (1024 * 1024 + 1), 413)]
    )
    def test_an_empty_file_and_one_too_large_are_refused(self, gauge, owner, text, status):
        assert self.send(client_of(owner), gauge, text).status_code == status

    def test_a_file_sent_as_something_else_is_refused(self, gauge, owner):
        assert self.send(client_of(owner), gauge, "{}", "application/json").status_code == 415


def test_readings_are_listed_by_their_own_time_however_they_came(gauge, owner):
    noted(gauge, levels(0.6, 0.7))
    note_reading(gauge, level_m=0.5, at=NOON - dt.timedelta(days=1), by=owner, now=NOON)
    client, found, page = client_of(owner), [], f"/api/v1/gauges/{gauge.pk}/readings/?page_size=1"
    while page:
        body = client.get(page).json()
        found, page = found + [row["level_m"] for row in body["results"]], body["next"]
    assert found == [0.7, 0.6, 0.5]


@pytest.mark.parametrize("place", ["p=2026-05-04", "p=2026-05-04T09%3A00", "p=x"])
def test_a_cursor_that_names_no_instant_is_not_found(gauge, owner, place):
    cursor = base64.b64encode(place.encode()).decode()
    response = client_of(owner).get(f"/api/v1/gauges/{gauge.pk}/readings/", {"cursor": cursor})
    assert response.status_code == 404


def test_the_list_can_be_asked_for_one_source(gauge, owner):
    noted(gauge, levels(0.6))
    ReadingFactory(gauge=gauge, at=NOON - QUARTER)
    body = client_of(owner).get(f"/api/v1/gauges/{gauge.pk}/readings/", {"source": "feed"}).json()
    assert [row["source"] for row in body["results"]] == ["feed"]
