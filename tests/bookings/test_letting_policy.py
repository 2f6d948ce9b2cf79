"""The letting policy over the wire: read, written with its version, and refused where it is odd."""

import pytest

from bookings.models import LettingPolicy
from tests.factories import FisheryFactory, client_of, keeper

pytestmark = pytest.mark.django_db

WRITTEN = {
    "hold_minutes": 60, "offer_minutes": 120,
    "refunds": [{"notice_days": 56, "percent": 100}, {"notice_days": 28, "percent": 50}],
}  # fmt: skip


@pytest.fixture
def fishery():
    return FisheryFactory()


@pytest.fixture
def put(fishery):
    client = client_of(keeper(fishery))
    path = f"/api/v1/fisheries/{fishery.slug}/letting-policy/"
    return lambda body, version: client.put(path, body, format="json", headers={"If-Match": f'"{version}"'})


def test_until_it_is_written_the_defaults_hold(fishery):
    told = client_of(keeper(fishery, "guest")).get(f"/api/v1/fisheries/{fishery.slug}/letting-policy/")
    assert told.json() == {"hold_minutes": 2880, "offer_minutes": 4320, "refunds": [], "version": 1}
    assert (told["ETag"], LettingPolicy.objects.count()) == ('"1"', 0)


def test_it_is_written_whole_and_again_with_the_version_read(put):
    first = put(WRITTEN, 1)
    assert first.json() == WRITTEN | {"refunds": WRITTEN["refunds"][::-1], "version": 2}
    assert [put(WRITTEN, version).status_code for version in (1, 3)] == [412, 412]
    assert put(WRITTEN | {"refunds": []}, 2).json()["refunds"] == []


@pytest.mark.parametrize(
    "refunds",
    [
        [{"notice_days": 56, "percent": 50}, {"notice_days": 28, "percent": 100}],
        [{"notice_days": 28, "percent": 50}, {"notice_days": 28, "percent": 60}],
        [{"notice_days": -1, "percent": 50}],
        [{"notice_days": 1, "percent": 101}],
        [{"notice_days": 1, "percent": 0.5}],
    ],
)
def test_refunds_that_contradict_themselves_are_refused(put, refunds):
    response = put(WRITTEN | {"refunds": refunds}, 1)
    assert (response.status_code, LettingPolicy.objects.count()) == (400, 0)
    assert next(iter(response.json()["errors"])).startswith("refunds")


@pytest.mark.parametrize("minutes", [0, -5, 4, 200_000, "NaN", None])
def test_a_hold_that_lasts_no_time_or_for_ever_is_refused(put, minutes):
    response = put(WRITTEN | {"hold_minutes": minutes}, 1)
    assert (response.status_code, list(response.json()["errors"])) == (400, ["hold_minutes"])
