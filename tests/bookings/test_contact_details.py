"""A guest's contact details: on their own page, on the keepers' page, and over the API.

Telephone numbers: E.164 by the phone library (ITU-T E.164), national numbers read in the fishery's country;
numbers from Ofcom's ranges for drama.
"""

import pytest
from django.urls import reverse

from beats.models import AuditEntry
from bookings.models import Guest
from tests.factories import GuestFactory, client_of, guest_with_account, keeper
from tests.pages import Page, text

pytestmark = pytest.mark.django_db
GIVEN = {
    "phone": "07700 900111",
    "emergency_contact_name": "Ruth Quill",
    "emergency_contact_phone": "",
    "emergency_contact_email": "Ruth@Example.org",
    "wading_grade": "1",
}


@pytest.fixture
def guest(beat):
    return guest_with_account(beat.fishery, name="Una Quill", phone="", wading_grade=None)


@pytest.fixture
def own(client, guest):
    client.force_login(guest.user)
    return reverse("day-contact", args=[guest.pk])


def sent(client, address, **said):
    return client.post(address, {"key": "k1", "version": "1"} | GIVEN | said)


def test_the_day_page_leads_to_the_contact_details_and_says_what_is_missing(client, own):
    day = text(client.get(reverse("day")))
    assert own in Page(day).links
    assert "We have no telephone number for you" in day


def test_a_guest_gives_their_own_details(client, own, guest, beat):
    assert text(client.get(own)).count('value="1"')
    assert sent(client, own).status_code == 303
    guest.refresh_from_db()
    assert (guest.phone, guest.emergency_contact_name, guest.emergency_contact_email, guest.wading_grade) == (
        "+447700900111", "Ruth Quill", "ruth@example.org", 1,
    )  # fmt: skip
    assert sent(client, own).status_code == 303  # a second tap finds everything as asked
    entry = AuditEntry.objects.get(subject=f"bookings.guest:{guest.pk}", verb="change guest")
    assert entry.by == guest.user
    assert "900111" not in str(entry.after)
    page = text(client.get(own))
    assert "+447700900111" in page
    assert "by you" in page


@pytest.mark.parametrize(
    ("said", "says"),
    [
        ({"phone": "12345"}, "write a telephone number that can be dialled"),
        ({"emergency_contact_email": "no address"}, "valid email address"),
        ({"emergency_contact_phone": "07700900111"}, "Use a number that is not yours"),
        (
            {"emergency_contact_email": "", "emergency_contact_name": "Ruth Quill"},
            "a telephone number or an e-mail",
        ),
        ({"emergency_contact_name": "una  quill"}, "Name another person"),
    ],
)
def test_a_fault_is_explained_beside_its_field_and_what_was_typed_stays(client, own, guest, said, says):
    answer = sent(client, own, **said)
    page = text(answer)
    assert answer.status_code == 422
    assert says.casefold() in page.casefold()
    for value in (GIVEN | said).values():
        assert not value or value.casefold() in page.casefold()
    guest.refresh_from_db()
    assert (guest.phone, guest.version) == ("", 1)


def test_the_anglers_own_address_is_no_emergency_contact(client, own, guest):
    answer = sent(client, own, emergency_contact_email=guest.email.upper())
    assert answer.status_code == 422
    assert "Use an address that is not yours" in text(answer)


def test_what_somebody_else_changed_meanwhile_is_not_overwritten(client, own, guest):
    Guest.objects.filter(pk=guest.pk).update(version=2, phone="+447700900199")
    assert sent(client, own).status_code == 422
    guest.refresh_from_db()
    assert guest.phone == "+447700900199"


def test_an_unknown_grade_is_shown_as_unknown_and_stays_so_if_not_answered(client, own, guest, beat):
    assert sent(client, own, wading_grade="").status_code == 303
    guest.refresh_from_db()
    assert guest.wading_grade is None
    assert client_of(guest.user).get(f"/api/v1/guests/{guest.pk}/").json()["wading_grade"] is None
    client.force_login(keeper(beat.fishery, "ghillie"))
    assert "wading grade not known" in text(client.get(reverse("guests", args=[beat.fishery.slug])))


def test_a_guest_may_lower_a_known_grade_and_not_raise_it(client, own, guest):
    Guest.objects.filter(pk=guest.pk).update(wading_grade=2)
    answer = sent(client, own, wading_grade="3")
    assert answer.status_code == 422
    assert "Ask the ghillie" in text(answer)
    assert sent(client, own, wading_grade="0").status_code == 303
    guest.refresh_from_db()
    assert guest.wading_grade == 0


# --- Keepers ---


@pytest.mark.parametrize("role", ["owner", "ghillie"])
def test_a_keeper_changes_the_details_of_a_guest(client, guest, beat, role):
    person = keeper(beat.fishery, role)
    client.force_login(person)
    listed = reverse("guests", args=[beat.fishery.slug])
    address = reverse("guest-contact", args=[beat.fishery.slug, guest.pk])
    assert address in Page(text(client.get(listed))).links
    assert "no telephone number" in text(client.get(listed))
    assert sent(client, address, wading_grade="3").status_code == 303
    guest.refresh_from_db()
    assert (guest.phone, guest.wading_grade) == ("+447700900111", 3)
    assert "by you" in text(client.get(address))
    client.force_login(guest.user)
    assert f"by {person}" in text(client.get(reverse("day-contact", args=[guest.pk])))


def test_a_guest_of_elsewhere_is_not_found(client, beat):
    client.force_login(keeper(beat.fishery))
    stranger = GuestFactory()
    assert client.get(reverse("guest-contact", args=[beat.fishery.slug, stranger.pk])).status_code == 404


def test_a_new_guest_may_be_entered_with_details(house, beat):
    address = reverse("house-new-guest", args=[beat.fishery.slug])
    said = GIVEN | {"key": "g1", "name": "Una Quill", "email": "una@example.org"}
    assert house.post(address, said).status_code == 303
    assert house.post(address, said).status_code == 303
    made = Guest.objects.get(email="una@example.org")
    assert (made.phone, made.emergency_contact_email, made.wading_grade) == (
        "+447700900111",
        "ruth@example.org",
        1,
    )
    assert house.post(address, said | {"key": "g2", "name": "Ann", "email": "", "phone": "1"}).status_code == 422


# --- First sign-in, and the letter ---


def test_the_first_visit_asks_for_missing_details_once(client, own, guest):
    assert client.get(reverse("home")).headers["Location"] == reverse("my-contact")
    assert client.get(reverse("my-contact")).headers["Location"] == own
    assert client.get(reverse("home")).headers["Location"] == reverse("day")


def test_whoever_has_given_them_begins_at_the_day(client, own, guest):
    sent(client, own)
    assert client.get(reverse("home")).headers["Location"] == reverse("day")


# --- API ---


def test_the_api_takes_an_email_contact_and_reads_numbers_in_the_fisherys_country(beat, owner):
    body = {
        "fishery": beat.fishery.slug, "name": "Una Quill", "phone": "07700 900111",
        "emergency_contact_name": "Ruth",
        "emergency_contact_email": "Ruth@example.org",
    }  # fmt: skip
    made = client_of(owner).post("/api/v1/guests/", body, format="json")
    assert made.status_code == 201, made.content
    told = made.json()
    assert (told["phone"], told["emergency_contact_email"], told["wading_grade"]) == (
        "+447700900111", "ruth@example.org", None,
    )  # fmt: skip
    wrong = client_of(owner).post("/api/v1/guests/", body | {"phone": "12"}, format="json")
    assert (wrong.status_code, list(wrong.json()["errors"])) == (400, ["phone"])


def test_a_guest_changes_their_own_details_over_the_api_and_nothing_else(guest):
    api = client_of(guest.user)
    path = f"/api/v1/guests/{guest.pk}/"
    given = api.patch(path, {"phone": "07700 900111"}, format="json", headers={"If-Match": '"1"'})
    assert (given.status_code, given.json()["phone"]) == (200, "+447700900111")
    for facts in ({"name": "Zoe"}, {"needs_ghillie": True}, {"phone": "+447700900112", "wants_boat": True}):
        assert api.patch(path, facts, format="json", headers={"If-Match": '"2"'}).status_code == 403
