"""The guest book, the gauge and the rota under several hands at once."""

import datetime as dt
from functools import partial

import pytest

from beats.models import Reading, User
from beats.services.river import note_reading
from bookings.models import Guest
from bookings.services.guests import add_guest, change_guest
from bookings.services.invitations import accept_invitation
from sessions.models import Rota
from sessions.services.rotas import publish_rota
from tests.factories import NOON, FisheryFactory, GaugeFactory, GuestFactory, RotaFactory, keeper
from tests.races.together import at_once, kinds

pytestmark = [pytest.mark.races, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def fishery():
    return FisheryFactory()


@pytest.fixture
def owner(fishery):
    return keeper(fishery)


@pytest.mark.parametrize("_attempt", range(4))
def test_one_address_entered_by_six_hands_is_one_guest(fishery, owner, _attempt):
    facts = {"name": "Una Teal", "email": "una@example.org"}
    answers = at_once([partial(add_guest, fishery, facts=facts, by=owner, now=NOON)] * 6)
    assert kinds(answers) == [*["KnownGuest"] * 5, "tuple"]
    assert (Guest.objects.count(), User.objects.filter(email="una@example.org").count()) == (1, 1)


@pytest.mark.parametrize("_attempt", range(4))
def test_one_new_address_entered_at_six_waters_at_once_is_one_person(_attempt):
    waters = FisheryFactory.create_batch(6)
    facts = {"name": "Una Teal", "email": "una@example.org"}
    asked = [partial(add_guest, water, facts=facts, by=keeper(water), now=NOON) for water in waters]
    answers = at_once(asked)
    assert kinds(answers) == ["tuple"] * 6
    assert {guest.user for guest, _ in answers} == {None}
    una = User.objects.get(email="una@example.org")
    accepted = at_once([partial(accept_invitation, guest.pk, by=una, now=NOON) for guest, _ in answers])
    assert {guest.user for guest in accepted} == {una}
    assert una.memberships.count() == 6


def test_of_six_changes_to_one_version_one_is_kept(fishery, owner):
    guest = GuestFactory(fishery=fishery)
    change = partial(change_guest, guest, version=1, by=owner, now=NOON)
    answers = at_once([partial(change, facts={"name": f"Name {n}"}) for n in range(6)])
    assert kinds(answers) == ["Guest", *["Stale"] * 5]
    guest.refresh_from_db()
    assert guest.version == 2


def test_one_reading_sent_by_six_gauges_programs_is_kept_once(fishery, owner):
    gauge = GaugeFactory(fishery=fishery)
    answers = at_once([partial(note_reading, gauge, level_m=0.71, at=NOON, by=owner, now=NOON)] * 6)
    assert sorted(made for _, made in answers) == [*[False] * 5, True]
    assert Reading.objects.get().level_m == 0.71


def test_of_two_drafts_published_at_once_the_newer_stands(fishery, owner):
    """Whichever comes first: the older is superseded by the newer, or refused because the newer stands."""
    first = RotaFactory(beat__fishery=fishery, version=1)
    second = RotaFactory(beat=first.beat, version=2)
    answers = at_once([partial(publish_rota, rota, by=owner, now=NOON) for rota in (first, second)])
    statuses = list(Rota.objects.order_by("version").values_list("status", flat=True))
    if kinds(answers) == ["Rota", "Rota"]:
        assert statuses == ["superseded", "published"]
    else:
        assert kinds(answers) == ["Overtaken", "Rota"]
        assert statuses == ["draft", "published"]


def test_a_draft_published_from_four_sides_is_published_once(fishery, owner):
    rota = RotaFactory(beat__fishery=fishery)
    times = [NOON + dt.timedelta(minutes=n) for n in range(4)]
    answers = at_once([partial(publish_rota, rota, by=owner, now=now) for now in times])
    assert {answer.published_at for answer in answers} == {Rota.objects.get().published_at}
