"""A fishery's guest entry and a person's account are two things, linked by that person's own consent alone.

Right of erasure and its limits: UK GDPR articles 17 and 5(1)(f) (integrity and confidentiality).
"""

import re

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from beats.models import AccessToken, AuditEntry, Membership, User
from beats.services.sign_in import send_codes
from bookings.models import Guest
from bookings.services.forgetting import forget_by_and_by
from bookings.services.invitations import accept_invitation
from safety.models import PushAddress
from tests.factories import (
    NOON,
    BeatFactory,
    FisheryFactory,
    PushAddressFactory,
    UserFactory,
    client_of,
    guest_with_account,
    keeper,
)

pytestmark = pytest.mark.django_db
API = "/api/v1/"


@pytest.fixture
def owner_client(beat, owner):
    return client_of(owner)


def enter(client, fishery, email, **facts):
    return client.post(
        f"{API}guests/", {"fishery": fishery.slug, "name": "Somebody", "email": email} | facts, format="json"
    )


def account(user):
    """All that an account is, and what hangs on it."""
    user = User.objects.get(pk=user.pk)
    parts = sorted(Membership.objects.filter(user=user).values_list("fishery", "role"))
    return (
        user.email, user.name, user.phone, user.is_active, user.is_staff, user.is_superuser, user.password, parts,
        AccessToken.objects.filter(user=user).count(), PushAddress.objects.filter(user=user).count(),
    )  # fmt: skip


def people():
    """One of each kind of account that a fishery might name."""
    elsewhere = BeatFactory().fishery
    staff = UserFactory(is_staff=True, is_superuser=True)
    return {
        "staff": staff,
        "owner elsewhere": keeper(elsewhere),
        "ghillie elsewhere": keeper(elsewhere, "ghillie"),
        "guest elsewhere": guest_with_account(elsewhere, name="Una Quill", phone="+447700900177").user,
        "of no fishery": UserFactory(),
    }


@pytest.mark.parametrize(
    "who", ["staff", "owner elsewhere", "ghillie elsewhere", "guest elsewhere", "of no fishery"]
)
def test_entering_and_erasing_a_guest_touches_nothing_of_an_account(beat, owner_client, who):
    user = people()[who]
    PushAddressFactory(user=user, label="their telephone")
    client_of(user)  # has a token
    before = account(user)
    entered = enter(owner_client, beat.fishery, user.email)
    assert entered.status_code == 201
    assert account(user) == before
    told = owner_client.get(f"{API}guests/{entered.data['id']}/everything/")
    assert told.status_code == 200
    assert not any(word in told.content.decode() for word in ("their telephone", "Una Quill", "900177", "push"))
    assert client_of(user).get(f"{API}guests/{entered.data['id']}/").status_code == 404
    assert owner_client.post(f"{API}guests/{entered.data['id']}/erase/").status_code == 204
    assert account(user)[:8] == before[:8]
    assert account(user)[9] == before[9]
    assert client_of(user).get(f"{API}me/").status_code == 200


@pytest.mark.parametrize("role", ["owner", "ghillie"])
def test_erasing_a_linked_entry_ends_the_part_as_a_guest_and_no_other(beat, owner_client, role):
    user = guest_with_account(BeatFactory().fishery).user
    Membership.objects.create(user=user, fishery=FisheryFactory(), role=role)
    PushAddressFactory(user=user)
    before = account(user)
    pk = enter(owner_client, beat.fishery, user.email).data["id"]
    accept_invitation(pk, by=user, now=NOON)
    assert account(user)[7] == sorted([*before[7], (beat.fishery_id, "guest")])
    assert "push_addresses" not in owner_client.get(f"{API}guests/{pk}/everything/").json()
    assert "push_addresses" in client_of(user).get(f"{API}guests/{pk}/everything/").json()
    assert owner_client.post(f"{API}guests/{pk}/erase/").status_code == 204
    assert account(user) == (*before[:8], 1, 1)  # the one token is this test's own


def test_the_answer_tells_nothing_of_whether_there_is_an_account(beat, owner_client):
    known = people()
    answers = [
        enter(owner_client, beat.fishery, email)
        for email in ("new@quill.example", *[u.email for u in known.values()])
    ]
    shapes = [{k: v for k, v in each.data.items() if k not in ("id", "email")} for each in answers]
    assert [each.status_code for each in answers] == [201] * 6
    assert all(shape == shapes[0] for shape in shapes)
    assert shapes[0]["invitation"] == "open"


def test_an_entry_without_an_address_invites_nobody(beat, owner_client):
    assert enter(owner_client, beat.fishery, "").data["invitation"] == "none"
    user = UserFactory()
    assert client_of(user).get(f"{API}invitations/").json()["results"] == []


def test_only_the_holder_of_the_address_sees_and_answers_it(beat, owner_client):
    user, other = UserFactory(), guest_with_account(beat.fishery).user
    pk = enter(owner_client, beat.fishery, user.email).data["id"]
    assert client_of(user).get(f"{API}invitations/").json()["results"] == [
        {"id": pk, "fishery": beat.fishery.slug, "fishery_name": beat.fishery.name, "status": "open"}
    ]
    for stranger in (other, keeper(beat.fishery), keeper(BeatFactory().fishery)):
        client = client_of(stranger)
        assert client.get(f"{API}invitations/").json()["results"] == []
        assert client.post(f"{API}invitations/{pk}/accept/").status_code == 404
        assert client.post(f"{API}invitations/{pk}/decline/").status_code == 404
    assert Guest.objects.get(pk=pk).user_id is None


def test_accepting_makes_them_a_guest_and_twice_is_once(beat, owner_client):
    user = UserFactory()
    pk = enter(owner_client, beat.fishery, user.email).data["id"]
    client = client_of(user)
    for _ in range(2):
        answer = client.post(f"{API}invitations/{pk}/accept/")
        assert (answer.status_code, answer.data["status"]) == (200, "accepted")
    assert client.get(f"{API}guests/{pk}/").status_code == 200
    assert [part["role"] for part in client.get(f"{API}me/").json()["parts"]] == ["guest"]
    assert owner_client.get(f"{API}guests/{pk}/").data["invitation"] == "accepted"
    assert AuditEntry.objects.filter(verb="accept invitation", by=user).count() == 1
    assert client.post(f"{API}invitations/{pk}/decline/").status_code == 409


def test_who_keeps_the_fishery_stays_its_keeper_when_they_accept(beat, owner_client):
    ghillie = keeper(beat.fishery, "ghillie")
    pk = enter(owner_client, beat.fishery, ghillie.email).data["id"]
    accept_invitation(pk, by=ghillie, now=NOON)
    assert Membership.objects.get(user=ghillie, fishery=beat.fishery).role == "ghillie"
    owner_client.post(f"{API}guests/{pk}/erase/")
    assert Membership.objects.get(user=ghillie, fishery=beat.fishery).role == "ghillie"


def test_declined_the_entry_stays_the_fishery_s_and_may_be_accepted_later(beat, owner_client):
    user = UserFactory()
    pk = enter(owner_client, beat.fishery, user.email).data["id"]
    client = client_of(user)
    for _ in range(2):
        assert client.post(f"{API}invitations/{pk}/decline/").data["status"] == "declined"
    assert owner_client.get(f"{API}guests/{pk}/").data["invitation"] == "declined"
    assert client.get(f"{API}guests/{pk}/").status_code == 404
    assert client.post(f"{API}invitations/{pk}/accept/").data["status"] == "accepted"


def test_two_entries_of_one_person_at_one_fishery_are_not_both_linked(beat, owner_client):
    user = guest_with_account(beat.fishery).user
    Guest.objects.filter(user=user).update(email="old@quill.example")
    pk = enter(owner_client, beat.fishery, user.email).data["id"]
    answer = client_of(user).post(f"{API}invitations/{pk}/accept/")
    assert answer.status_code == 409
    assert answer.json()["type"].endswith("already-linked")


def test_an_erased_entry_cannot_be_accepted(beat, owner_client):
    user = UserFactory()
    pk = enter(owner_client, beat.fishery, user.email).data["id"]
    owner_client.post(f"{API}guests/{pk}/erase/")
    assert client_of(user).post(f"{API}invitations/{pk}/accept/").status_code == 404


def test_a_new_guest_signs_in_by_code_and_accepts_on_the_page(beat, owner_client):
    pk = enter(owner_client, beat.fishery, "new@quill.example").data["id"]
    browser = Client()
    browser.post(reverse("sign-in"), {"email": "new@quill.example"})
    send_codes(clock=timezone.now)
    code = re.search(r"\d{4} \d{4}", mail.outbox[-1].subject)[0]
    browser.post(reverse("sign-in-code"), {"code": code})
    page = browser.get("/", follow=True)
    assert beat.fishery.name in page.content.decode()
    assert "Is that you?" in page.content.decode()
    answer = browser.post(reverse("invitation-accept-page", args=[pk]), {"key": "k-1"}, follow=True)
    assert answer.status_code == 200
    assert Guest.objects.get(pk=pk).user == User.objects.get(email="new@quill.example")
    assert "Check in" in browser.get(reverse("day")).content.decode()


def test_a_keeper_invited_elsewhere_is_asked_once_a_session(beat, owner_client):
    ghillie = keeper(BeatFactory().fishery, "ghillie")
    pk = enter(owner_client, beat.fishery, ghillie.email).data["id"]
    browser = Client()
    browser.force_login(ghillie)
    assert browser.get("/").url == reverse("day")
    assert browser.get("/").url != reverse("day")
    declined = browser.post(reverse("invitation-decline-page", args=[pk]), {"key": "k-2"})
    assert declined.status_code == 303
    assert "You declined" in browser.get(reverse("day")).content.decode()
    assert browser.post(reverse("invitation-accept-page", args=[10**9]), {"key": "k-3"}).status_code == 404


class TestUnusedAccounts:
    def test_an_account_without_any_part_is_closed_by_and_by(self, beat, owner_client):
        pk = enter(owner_client, beat.fishery, "new@quill.example").data["id"]
        user = User.objects.get(email="new@quill.example")
        PushAddressFactory(user=user)
        assert forget_by_and_by(now=NOON)["accounts"] == 0  # still invited
        owner_client.post(f"{API}guests/{pk}/erase/")
        assert User.objects.get(pk=user.pk).is_active
        assert forget_by_and_by(now=NOON)["accounts"] == 1
        assert forget_by_and_by(now=NOON)["accounts"] == 0
        user.refresh_from_db()
        assert (user.email, user.is_active) == (f"gone-{user.pk}@erased.invalid", False)
        assert not PushAddress.objects.filter(user=user).exists()

    def test_staff_and_whoever_has_a_part_stay(self):
        kept = people()
        kept.pop("of no fishery")
        forget_by_and_by(now=NOON)
        assert all(User.objects.get(pk=user.pk).is_active for user in kept.values())

    def test_erasing_one_s_own_last_entry_closes_the_account(self, beat):
        user = guest_with_account(beat.fishery).user
        client = client_of(user)
        assert client.post(f"{API}guests/{user.guests.get().pk}/erase/").status_code == 204
        assert client.get(f"{API}me/").status_code == 401
