"""What an answer tells caches, and what a request with a wrong host is told."""

import pytest
from django.test import Client
from django.urls import reverse

from tests.factories import BeatFactory, client_of, keeper

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("path", ["/", "/health/live", "/api/v1/me/", "/sign-in/", "/office/login/", "/nowhere"])
def test_an_unknown_host_is_a_bad_request(settings, path):
    settings.ALLOWED_HOSTS = ["rods.example.org"]
    answer = Client(raise_request_exception=False).get(path, headers={"host": "evil.example"})
    assert answer.status_code == 400, answer.content[:300]


def test_what_only_one_person_may_read_is_stored_by_no_cache():
    beat = BeatFactory()
    client = client_of(keeper(beat.fishery))
    for path in ("me/", "guests/", "fisheries/", f"beats/{beat.pk}/", "lets/"):
        answer = client.get(f"/api/v1/{path}")
        assert (answer.status_code, answer.headers.get("Cache-Control")) == (200, "no-store"), path
    refused = client_of(None).get("/api/v1/guests/")
    assert (refused.status_code, refused.headers.get("Cache-Control")) == (401, "no-store")


def test_the_office_says_so_itself(client):
    assert "no-store" in client.get(reverse("admin:login")).headers["Cache-Control"]
