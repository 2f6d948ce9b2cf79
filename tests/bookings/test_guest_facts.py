"""What a guest tells of themselves, and an emergency contact who can be rung when they cannot.

Telephone numbers: E.164 by the phone library (ITU-T E.164); numbers from Ofcom's ranges for drama.
"""

import pytest

from bookings.contact_details import OwnContact
from bookings.models import Guest
from bookings.services.guests import add_guest, change_guest
from tests.factories import NOON, client_of

pytestmark = pytest.mark.django_db
FACTS = {"name": "Una Quill", "phone": "+447700900177"}


@pytest.mark.parametrize(
    "contact",
    [
        {"emergency_contact_phone": "+447700900177", "emergency_contact_name": "Ruth"},
        {"emergency_contact_name": " una  QUILL", "emergency_contact_phone": "+447700900178"},
    ],
)
def test_the_angler_cannot_be_their_own_emergency_contact(beat, owner, contact):
    with pytest.raises(OwnContact, match="Name somebody who stays on the bank"):
        add_guest(beat.fishery, facts=FACTS | contact, by=owner, now=NOON)
    guest, _ = add_guest(beat.fishery, facts=FACTS, by=owner, now=NOON)
    with pytest.raises(OwnContact):
        change_guest(guest, facts=contact, version=1, by=owner, now=NOON)
    assert Guest.objects.get().emergency_contact_name == ""


def test_nor_become_it_by_a_new_number_of_their_own(beat, owner):
    facts = FACTS | {"emergency_contact_name": "Ruth", "emergency_contact_phone": "+447700900178"}
    guest, _ = add_guest(beat.fishery, facts=facts, by=owner, now=NOON)
    with pytest.raises(OwnContact):
        change_guest(guest, facts={"phone": "+447700900178"}, version=1, by=owner, now=NOON)


def test_a_number_is_compared_as_it_is_dialled_not_as_it_is_written(beat, owner):
    body = FACTS | {
        "fishery": beat.fishery.slug,
        "phone": "07700 900177",
        "emergency_contact_phone": "+44 7700 900177",
    }
    response = client_of(owner).post("/api/v1/guests/", body, format="json")
    assert (response.status_code, list(response.json()["errors"])) == (400, ["emergency_contact_phone"])


def test_shoulder_needs_and_boat_are_kept_and_changed(beat, owner):
    client = client_of(owner)
    body = FACTS | {"fishery": beat.fishery.slug, "casting_shoulder": "left", "needs": "slow on stones \N{FISH}"}
    made = client.post("/api/v1/guests/", body, format="json").json()
    assert (made["casting_shoulder"], made["needs"], made["wants_boat"]) == (
        "left",
        "slow on stones \N{FISH}",
        False,
    )
    changed = client.patch(
        f"/api/v1/guests/{made['id']}/", {"wants_boat": True, "casting_shoulder": ""}, format="json",
        headers={"If-Match": '"1"'},
    )  # fmt: skip
    assert (changed.json()["wants_boat"], changed.json()["casting_shoulder"]) == (True, "")


def test_a_shoulder_there_is_not_is_refused(beat, owner):
    body = FACTS | {"fishery": beat.fishery.slug, "casting_shoulder": "middle"}
    assert list(client_of(owner).post("/api/v1/guests/", body, format="json").json()["errors"]) == [
        "casting_shoulder"
    ]


def test_who_was_told_to_keep_nothing_of_a_contact_keeps_nothing(beat, owner):
    guest, _ = add_guest(beat.fishery, facts=FACTS, by=owner, now=NOON)
    assert (guest.emergency_contact_name, guest.entered_at) == ("", NOON)
