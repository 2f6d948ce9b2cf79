"""Readings and closures: what the ghillie notes at the river."""

import datetime as dt

import pytest
from django.http import Http404

from beats.models import AuditEntry, PoolClosure, Reading
from beats.services.river import NotYetRead, ReadOtherwise, close_pool, note_reading, reopen_pool
from beats.shared.refusals import NotYours
from tests.factories import NOON, FisheryFactory, GaugeFactory, PoolFactory, client_of, keeper

pytestmark = pytest.mark.django_db

SECOND = dt.timedelta(seconds=1)


@pytest.fixture
def gauge():
    return GaugeFactory(name="Bridge")


@pytest.fixture
def ghillie(gauge):
    return keeper(gauge.fishery, "ghillie")


def read(gauge, by, *, level_m=0.62, at=NOON):
    return note_reading(gauge, level_m=level_m, at=at, by=by, now=NOON)


def test_the_same_reading_again_changes_nothing(gauge, ghillie):
    first, made = read(gauge, ghillie)
    assert (read(gauge, ghillie), made) == ((first, False), True)
    assert (Reading.objects.count(), AuditEntry.objects.count()) == (1, 1)


def test_another_level_at_the_same_instant_is_refused_and_the_first_stands(gauge, ghillie):
    read(gauge, ghillie)
    with pytest.raises(ReadOtherwise, match=r"Bridge already reads 0\.62 m"):
        read(gauge, ghillie, level_m=0.63)
    assert Reading.objects.get().level_m == 0.62


def test_two_gauges_may_read_at_one_instant(gauge, ghillie):
    other = GaugeFactory(fishery=gauge.fishery)
    assert [read(where, ghillie)[1] for where in (gauge, other)] == [True, True]


def test_a_reading_still_to_come_is_refused_but_a_clock_may_run_two_minutes_fast(gauge, ghillie):
    with pytest.raises(NotYetRead):
        read(gauge, ghillie, at=NOON + 121 * SECOND)
    assert read(gauge, ghillie, at=NOON + 120 * SECOND)[1]


def test_guests_and_strangers_note_nothing(gauge):
    with pytest.raises(NotYours):
        read(gauge, keeper(gauge.fishery, "guest"))
    with pytest.raises(Http404):
        read(gauge, keeper(FisheryFactory()))
    assert Reading.objects.count() == 0


def test_over_the_wire_new_is_201_known_is_200_and_another_level_409(gauge, ghillie):
    client, path = client_of(ghillie), f"/api/v1/gauges/{gauge.pk}/readings/"
    sent = [
        client.post(path, {"level_m": level, "at": "2026-05-06T12:00:00+01:00"}, format="json")
        for level in (0.62, 0.62, 0.7)
    ]
    assert [response.status_code for response in sent] == [201, 200, 409]
    assert sent[0].json() == sent[1].json()
    assert (sent[0].json()["level_m"], sent[2].json()["type"]) == (0.62, "/api/v1/problems/read-otherwise")


def test_readings_are_listed_newest_first_between_two_instants(gauge, ghillie):
    for hour in (9, 10, 11):
        read(gauge, ghillie, at=NOON.replace(hour=hour), level_m=hour / 10)
    query = {"at__gte": "2026-05-06T09:00:00Z", "at__lt": "2026-05-06T11:00:00Z"}
    body = client_of(ghillie).get(f"/api/v1/gauges/{gauge.pk}/readings/", query).json()
    assert [row["level_m"] for row in body["results"]] == [1.0, 0.9]


def test_a_pool_is_closed_and_opened_again_and_both_are_in_the_audit_trail():
    pool = PoolFactory(slug="head")
    ghillie = keeper(pool.beat.fishery, "ghillie")
    days = {"from_on": dt.date(2026, 5, 4), "to_on": dt.date(2026, 5, 5)}
    closure, made = close_pool(pool, **days, reason="tree down", by=ghillie, now=NOON)
    assert made
    assert close_pool(pool, **days, reason="again", by=ghillie, now=NOON) == (closure, False)
    assert list(PoolClosure.objects.values_list("pool", "from_on", "to_on", "reason")) == [
        (pool.pk, *days.values(), "tree down")
    ]
    reopen_pool(closure, by=ghillie, now=NOON)
    assert PoolClosure.objects.count() == 0
    assert list(AuditEntry.objects.order_by("id").values_list("verb", "before", "after")) == [
        (
            "close pool",
            None,
            {"pool": "head", "from_on": "2026-05-04", "to_on": "2026-05-05", "reason": "tree down"},
        ),
        ("reopen pool", {"reason": "tree down"}, None),
    ]


def test_a_closure_that_ends_before_it_starts_is_refused():
    pool = PoolFactory()
    body = {"from_on": "2026-05-05", "to_on": "2026-05-04", "reason": "tree down"}
    response = client_of(keeper(pool.beat.fishery)).post(f"/api/v1/pools/{pool.pk}/closures/", body, format="json")
    assert (response.status_code, list(response.json()["errors"])) == (400, ["to_on"])
