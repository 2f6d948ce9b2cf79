"""The book of guests: entering and changing."""

import pytest

from beats.models import AuditEntry, Membership, User
from bookings.models import Guest
from tests.factories import FisheryFactory, GuestFactory, client_of, keeper

pytestmark = pytest.mark.django_db


@pytest.fixture
def fishery():
    return FisheryFactory()


@pytest.fixture
def ghillie(fishery):
    return client_of(keeper(fishery, "ghillie"))


def enter(client, fishery, **facts):
    return client.post("/api/v1/guests/", {"fishery": fishery.slug, "name": "Una Teal"} | facts, format="json")


def test_a_guest_with_an_address_can_sign_in_and_is_a_guest_here_alone(fishery, ghillie):
    response = enter(ghillie, fishery, email="Una@Example.org")
    assert (response.status_code, response.json()["email"]) == (201, "una@example.org")
    user = User.objects.get(email="una@example.org")
    assert not user.has_usable_password()
    assert (Guest.objects.get().user, user.memberships.count()) == (None, 0)
    invitation = client_of(user).get("/api/v1/invitations/").json()["results"][0]["id"]
    assert client_of(user).post(f"/api/v1/invitations/{invitation}/accept/").status_code == 200
    assert list(user.memberships.values_list("fishery", "role")) == [(fishery.pk, "guest")]
    assert Guest.objects.get().user == user


def test_a_guest_without_an_address_is_a_name_in_the_book(fishery, ghillie):
    before = User.objects.count()
    assert enter(ghillie, fishery).status_code == 201
    assert enter(ghillie, fishery).status_code == 201  # two people may share a name
    assert User.objects.count() == before


def test_the_same_address_twice_is_refused_and_leaves_one_entry(fishery, ghillie):
    enter(ghillie, fishery, email="una@example.org")
    response = enter(ghillie, fishery, email="UNA@example.org", name="Una again")
    assert (response.status_code, response.json()["type"]) == (409, "/api/v1/problems/known-guest")
    assert list(Guest.objects.values_list("name", flat=True)) == ["Una Teal"]


def test_a_keeper_entered_as_guest_stays_keeper(fishery, ghillie):
    owner = keeper(fishery)
    enter(ghillie, fishery, email=owner.email)
    assert Membership.objects.get(user=owner, fishery=fishery).role == "owner"


def test_telephone_numbers_are_kept_as_e164(fishery, ghillie):
    response = enter(ghillie, fishery, phone="07700 900123", emergency_contact_phone="+44 1632 960456")
    assert response.json()["phone"] == "+447700900123"
    assert response.json()["emergency_contact_phone"] == "+441632960456"


@pytest.mark.parametrize("number", ["12", "999", "112", "+44 999"])
@pytest.mark.parametrize("whose", ["phone", "emergency_contact_phone"])
def test_a_number_nobody_can_dial_is_refused_and_so_is_999(fishery, ghillie, whose, number):
    response = enter(ghillie, fishery, **{whose: number})
    assert (response.status_code, list(response.json()["errors"])) == (400, [whose])


def test_a_change_needs_the_version_that_was_read(fishery, ghillie):
    guest = GuestFactory(fishery=fishery, name="Before")
    path = f"/api/v1/guests/{guest.pk}/"
    version = ghillie.get(path)["ETag"]
    sent = [
        ghillie.patch(path, {"name": name}, format="json", headers=headers)
        for name, headers in (("Kept", {"If-Match": version}), ("Late", {"If-Match": version}), ("Bare", {}))
    ]
    assert [response.status_code for response in sent] == [200, 412, 428]
    assert (sent[0].json()["name"], sent[0].json()["version"]) == ("Kept", 2)
    guest.refresh_from_db()
    assert guest.name == "Kept"


@pytest.mark.parametrize("version", ["*", 'W/"1"', '"-1"', '"99999999999"', '"\N{SUPERSCRIPT TWO}"'])
def test_a_version_that_is_none_of_ours_is_refused(fishery, ghillie, version):
    guest = GuestFactory(fishery=fishery)
    response = ghillie.patch(
        f"/api/v1/guests/{guest.pk}/", {"name": "N"}, format="json", headers={"If-Match": version}
    )
    assert (response.status_code, list(response.json()["errors"])) == (400, ["If-Match"])


def test_telephone_numbers_stay_out_of_the_audit_trail(fishery, ghillie):
    guest = GuestFactory(fishery=fishery)
    ghillie.patch(
        f"/api/v1/guests/{guest.pk}/", {"phone": "07700 900999"}, format="json", headers={"If-Match": '"1"'}
    )
    entry = AuditEntry.objects.get(verb="change guest")
    assert (entry.before, entry.after) == (None, {"changed": "phone"})
