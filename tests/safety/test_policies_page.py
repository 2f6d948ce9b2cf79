"""The fishery's promises in plain words."""

import pytest
from django.urls import reverse

from beats.models import AuditEntry
from bookings.models import LettingPolicy, RefundStep
from tests.factories import BeatFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def path(beat):
    return reverse("house-policies", args=[beat.fishery.slug])


def test_letting_and_the_watch_of_each_beat_are_told_and_nothing_is_written(client, beat, owner, path):
    BeatFactory(fishery=beat.fishery, name="Alder Beat")
    policy = LettingPolicy.objects.create(fishery=beat.fishery, hold_minutes=90, offer_minutes=4 * 1440)
    RefundStep.objects.create(policy=policy, notice_days=60, percent=75)
    client.force_login(owner)
    page = client.get(path).content.decode()
    assert "Rods are held for 90 min" in page
    assert "has 4 days to answer" in page
    assert "Cancelled 60 days or more before the first day: 75 % goes back." in page
    assert "Alder Beat" in page
    assert page.count("If we have not heard from you by 17:") >= 2
    assert "we do not ring it" in page
    assert not AuditEntry.objects.exists()


def test_without_a_policy_the_usual_one_is_told(client, owner, path):
    client.force_login(owner)
    page = client.get(path).content.decode()
    assert "Rods are held for 2 days" in page
    assert "nothing goes back when a let is cancelled" in page
    assert LettingPolicy.objects.count() == 0
