"""The guest's page, the keeper's page and the API store the same fish from the same entries."""

import datetime as dt
import re

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from beats.queries import zone_of
from sessions.models import Catch
from tests.factories import BeatFactory, OutingFactory, PoolFactory, client_of, guest_with_account, keeper
from tests.pages import Page

pytestmark = pytest.mark.django_db
NOT_COMPARED = {"id", "made_by", "request_key", "request_fingerprint", "caught_at"}
"""Who entered it and by which request; and the seconds of a time that one of them enters by the minute."""


@pytest.fixture
def beat():
    return BeatFactory()


@pytest.fixture
def pool(beat):
    return PoolFactory(beat=beat)


@pytest.fixture
def guest(beat):
    made, now = guest_with_account(beat.fishery), timezone.now()
    OutingFactory(
        beat=beat, guest=made, checked_in_at=now - dt.timedelta(hours=1), due_back_at=now + dt.timedelta(hours=2)
    )
    return made


def signed_in(user):
    client = Client()
    client.force_login(user)
    return client


def asked(client, path):
    """The form of a page, as {name: choices or kind}."""
    forms = Page(client.get(path).content.decode()).forms
    return next(form for form in forms if any(each.name == "kind" for each in form.fields))


def entered(client, path, entries):
    form = asked(client, path)
    names = {each.name for each in form.fields}
    assert set(entries) <= names, f"not asked at {path}: {set(entries) - names}"
    answer = client.post(path, dict(form.typed()) | entries)
    assert answer.status_code == 303, re.findall('(?:fault"|alert")[^>]*>(.*?)</', answer.content.decode())


def stored():
    columns = [field.attname for field in Catch._meta.concrete_fields if field.name not in NOT_COMPARED]
    return [{name: getattr(row, name) for name in columns} for row in Catch.objects.order_by("id")]


ENTRIES = {
    "little": ({"kind": "msw", "fate": "released"}, {"kind": "msw", "fate": "released"}),
    "sizes, nobody said how": (
        {"kind": "msw", "fate": "released", "weight": "10", "unit": "lb", "length": "76", "length_unit": "cm",
         "fly": "Ally's Shrimp"},
        {"kind": "msw", "fate": "released", "weight_kg": "4.54", "length_cm": "76", "fly": "Ally's Shrimp"},
    ),
    "everything": (
        {"kind": "sea_trout", "fate": "kept", "weight": "2.5", "unit": "lb", "weight_how": "weighed",
         "length": "18.5", "length_unit": "in", "length_how": "measured", "method": "spinner", "fly": "Toby"},
        {"kind": "sea_trout", "fate": "kept", "weight_kg": "1.13", "weight_how": "weighed", "length_cm": "47.0",
         "length_how": "measured", "method": "spinner", "fly": "Toby"},
    ),
    "estimated": (
        {"kind": "1sw", "fate": "released", "weight": "2", "unit": "kg", "weight_how": "estimated", "length": "58",
         "length_unit": "cm", "length_how": "estimated", "method": "fly", "fly": ""},
        {"kind": "1sw", "fate": "released", "weight_kg": "2", "weight_how": "estimated", "length_cm": "58",
         "length_how": "estimated", "method": "fly", "fly": ""},
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", ENTRIES)
def test_the_same_entries_are_the_same_row(case, beat, pool, guest):
    on_pages, on_the_wire = ENTRIES[case]
    local, ghillie = timezone.now().astimezone(zone_of(beat.fishery)), keeper(beat.fishery, "ghillie")
    entered(signed_in(guest.user), reverse("day-fish", args=[guest.pk]), on_pages | {"pool": str(pool.pk)})
    when = {"day": f"{local:%Y-%m-%d}", "time": f"{local:%H:%M}"}
    whose = {"where": f"pool {pool.pk}", "guest": str(guest.pk)}
    entered(signed_in(ghillie), reverse("water-fish", args=[beat.fishery.slug]), on_pages | when | whose)
    body = on_the_wire | {"beat": beat.pk, "pool": pool.pk, "guest": guest.pk, "caught_at": local.isoformat()}
    answer = client_of(guest.user).post("/api/v1/catches/", body, format="json")
    assert answer.status_code == 201, answer.json()
    first, second, third = stored()
    assert first == second
    assert first == {name: third[name] for name in first}


def test_nothing_is_taken_for_granted(beat, pool, guest):
    entries = {"kind": "msw", "fate": "released", "weight": "10", "length": "76", "fly": "Ally", "pool": ""}
    entered(signed_in(guest.user), reverse("day-fish", args=[guest.pk]), entries)
    fish = Catch.objects.get()
    assert (fish.weight_how, fish.length_how, fish.method) == ("", "", "")


def test_a_page_that_a_phone_kept_from_before_loses_no_length(beat, pool, guest):
    client, path = signed_in(guest.user), reverse("day-fish", args=[guest.pk])
    old = {"key": "k1", "kind": "msw", "fate": "released", "length_cm": "76"}
    assert client.post(path, old).status_code == 303
    assert Catch.objects.get().length_cm == 76


def test_how_without_a_size_is_refused_beside_its_field(beat, pool, guest):
    client, path = signed_in(guest.user), reverse("day-fish", args=[guest.pk])
    form = dict(asked(client, path).typed()) | {"kind": "msw", "fate": "released", "pool": ""}
    form["weight_how"] = "weighed"
    answer = client.post(path, form)
    assert (answer.status_code, "but not the weight" in answer.content.decode()) == (422, True)
