"""A guest who signs in for the first time accepts the fishery that entered them, in a browser."""

import pytest
from django.urls import reverse
from django.utils import timezone

from bookings.models import Guest
from bookings.services.guests import add_guest
from tests.browser.conftest import sign_in
from tests.browser.test_every_page import looked_at
from tests.factories import BeatFactory, PoolFactory, keeper

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def enter(email):
    beat = BeatFactory()
    PoolFactory(beat=beat)
    facts = {"name": "Una Quill", "email": email, "phone": "+447700900177"}
    return add_guest(beat.fishery, facts=facts, by=keeper(beat.fishery), now=timezone.now())[0]


def test_one_fishery_is_accepted_and_another_declined(screen):
    una, other = enter("una@quill.example"), enter("una@quill.example")
    sign_in(screen, "una@quill.example")
    looked_at(screen, "invitations")
    ours = screen.locator(".wait", has_text=una.fishery.name)
    ours.get_by_role("button", name="Accept").click()
    screen.get_by_role("heading", name="My contact details").wait_for()  # asked of a new guest once
    screen.goto(reverse("day"))
    screen.get_by_role("heading", name=una.fishery.name).wait_for()
    theirs = screen.locator(".wait", has_text=other.fishery.name)
    theirs.get_by_role("button", name="No, decline").click()
    screen.get_by_text(f"You declined {other.fishery.name}").wait_for()
    looked_at(screen, "invitations-answered")
    linked = dict(Guest.objects.values_list("pk", "user__email"))
    assert linked == {una.pk: "una@quill.example", other.pk: None}
    screen.goto(reverse("day"))
    assert screen.get_by_role("link", name="Check in:").count() == 1
