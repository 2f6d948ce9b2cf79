"""A let asked for twice with one key is made once."""

import datetime as dt
import uuid

import pytest

from beats.shared.once import Once
from beats.shared.refusals import KeyReused
from bookings.models import Let, RodDay
from bookings.services.lets import let_rods
from tests.factories import NOON, BeatFactory, GuestFactory, client_of, keeper

pytestmark = pytest.mark.django_db

DAY = dt.date(2026, 5, 4)
KEY = "7b0a1f52-4b0e-4d9c-9f4c-0f6a2f1d6a01"


@pytest.fixture
def beat():
    return BeatFactory(rods=4)


@pytest.fixture
def owner(beat):
    return keeper(beat.fishery)


@pytest.fixture
def booker(beat):
    return GuestFactory(fishery=beat.fishery)


def ask(beat, owner, booker, *, key=KEY, rods=1):
    once = Once.of(key, ["POST", "/api/v1/lets/", {"rods": rods}])
    return let_rods(beat, booker=booker, first_on=DAY, last_on=DAY, rods=rods, by=owner, now=NOON, once=once)


def test_the_same_key_and_request_give_the_same_let(beat, owner, booker):
    first, made = ask(beat, owner, booker)
    again, made_again = ask(beat, owner, booker)
    assert (first, made, made_again) == (again, True, False)
    assert (Let.objects.count(), RodDay.objects.count()) == (1, 1)


def test_the_same_let_comes_back_even_when_no_rod_is_left(beat, owner, booker):
    first, _ = ask(beat, owner, booker)
    ask(beat, owner, booker, key=str(uuid.uuid4()), rods=3)
    assert ask(beat, owner, booker) == (first, False)


def test_the_same_key_with_another_request_is_refused(beat, owner, booker):
    ask(beat, owner, booker)
    with pytest.raises(KeyReused):
        ask(beat, owner, booker, rods=2)
    assert Let.objects.count() == 1


def test_a_key_belongs_to_one_person(beat, owner, booker):
    first, _ = ask(beat, owner, booker)
    second, made = ask(beat, keeper(beat.fishery), booker)
    assert made
    assert first != second


def test_over_the_wire_the_second_answer_is_200_and_a_changed_body_422(beat, owner, booker):
    client = client_of(owner)
    body = {"beat": beat.pk, "booker": booker.pk, "first_on": "2026-05-04", "last_on": "2026-05-04", "rods": 1}
    sent = [
        client.post("/api/v1/lets/", asked, format="json", headers={"Idempotency-Key": key})
        for asked, key in ((body, KEY), (body, f'"{KEY}"'), (body | {"rods": 2}, KEY))
    ]
    assert [response.status_code for response in sent] == [201, 200, 422]
    assert sent[0].json() == sent[1].json()
    assert sent[2].json()["type"] == "/api/v1/problems/key-reused"


@pytest.mark.parametrize("key", ["short", "x" * 81, "nine\tnine", "schlüssel-1234"])
def test_a_key_that_is_no_key_is_refused(beat, owner, key):
    response = client_of(owner).post(
        "/api/v1/guests/",
        {"fishery": beat.fishery.slug, "name": "Una"},
        format="json",
        headers={"Idempotency-Key": key},
    )
    assert (response.status_code, list(response.json()["errors"])) == (400, ["Idempotency-Key"])
