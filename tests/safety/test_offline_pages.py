"""The list of pages to hold: who gets it, and which cookies come with it."""

import pytest
from django.urls import reverse

from tests.factories import BeatFactory, FisheryFactory, guest_with_account

pytestmark = pytest.mark.django_db


def test_a_signed_out_phone_gets_no_list_and_keeps_the_cookie_of_its_open_form(client):
    """A new CSRF cookie would make the server refuse the sign-in form that is being filled in meanwhile."""
    answer = client.get(reverse("offline-pages"), headers={"Accept": "application/json"})
    assert answer.status_code in {401, 403}
    assert "csrftoken" not in answer.cookies


def test_a_signed_in_phone_gets_the_list_with_the_cookie_that_sending_needs(client):
    guest = guest_with_account(FisheryFactory())
    client.force_login(guest.user)
    answer = client.get(reverse("offline-pages"), headers={"Accept": "application/json"})
    assert answer.json()["who"] == str(guest.user.pk)
    assert answer.cookies["csrftoken"].value


def test_a_public_page_asked_for_by_the_worker_sets_no_cookie_for_somebody_signed_out(client):
    beat = BeatFactory()
    address = reverse("check-in", args=[beat.fishery.slug, beat.slug])
    assert "csrftoken" in client.get(address).cookies
    client.cookies.clear()
    answer = client.get(address, headers={"X-Hold": "1"})
    assert answer.status_code == 200
    assert "csrftoken" not in answer.cookies
