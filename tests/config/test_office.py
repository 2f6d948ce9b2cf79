"""The back office shows every row to whoever runs the service, changes none, and keeps secrets back."""

import pytest
from django.apps import apps
from django.contrib import admin
from django.test import Client

from beats.models import User
from beats.shared.looking import KEPT_BACK, shown
from tests.config.world import build
from tests.factories import UserFactory, keeper

pytestmark = pytest.mark.django_db
OURS = [
    model for label in ("beats", "bookings", "fishing_sessions", "safety")
    for model in apps.get_app_config(label).get_models()
]  # fmt: skip


def address(model, rest=""):
    return f"/office/{model._meta.app_label}/{model._meta.model_name}/{rest}"


@pytest.fixture
def office():
    User.objects.create_superuser("keys@example.org", password="a long enough pass phrase", name="Keeper of keys")
    client = Client()
    assert client.login(username="keys@example.org", password="a long enough pass phrase")
    return client


def test_every_model_of_ours_is_there():
    assert {model for model in OURS if admin.site.is_registered(model)} == set(OURS)


def test_every_list_and_every_row_can_be_looked_at(office):
    build()
    for model in OURS:
        assert office.get(address(model)).status_code == 200, model
        row = model.objects.first()
        if row is not None:
            assert office.get(address(model, f"{row.pk}/change/")).status_code == 200, model


def test_nothing_can_be_added_changed_or_deleted(office):
    build()
    for model in OURS:
        assert office.get(address(model, "add/")).status_code == 403, model
        row = model.objects.first()
        if row is not None:
            before = model.objects.filter(pk=row.pk).values().get()
            assert office.post(address(model, f"{row.pk}/change/"), {}).status_code == 403, model
            assert office.post(address(model, f"{row.pk}/delete/"), {"post": "yes"}).status_code == 403, model
            assert model.objects.filter(pk=row.pk).values().get() == before


def test_secrets_are_kept_back(office):
    user = UserFactory()
    user.set_password("something to hide")
    user.save()
    page = office.get(address(User, f"{user.pk}/change/")).content.decode()
    assert user.email in page
    assert "pbkdf2" not in page
    assert not [name for model in OURS for name in shown(model) if any(word in name for word in KEPT_BACK)]


def test_owners_and_guests_have_no_way_in():
    world = build()
    owner = keeper(world.rows["fishery"])
    client = Client()
    client.force_login(owner)
    assert client.get("/office/").status_code == 302
    assert client.get(address(User)).status_code == 302
