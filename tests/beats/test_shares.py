"""What one fishery may take of a service that others share. The figures are our own: invented, no source."""

import datetime as dt

import pytest
from django.core import checks
from django.core.management import call_command
from django.db import connection
from django.urls import reverse

from beats.checks import the_wall_stands
from beats.shared.limits import TooOften
from beats.shares import AN_HOUR, IN_ALL, FullShare, refuse_when_full, share_of, take
from bookings.models import Guest
from tests.factories import NOON, FisheryFactory, GuestFactory, client_of, keeper

HOUR = dt.timedelta(hours=1)


@pytest.mark.django_db
def test_an_hours_share_is_of_each_fishery_for_itself(settings):
    settings.FISHERY_SHARES = {"rotas": 2}
    mine, theirs = FisheryFactory(name="Glenavar"), FisheryFactory()
    take("rotas", mine, now=NOON)
    take("rotas", mine, now=NOON)
    with pytest.raises(TooOften, match="Glenavar has asked for 2 rotas within an hour"):
        take("rotas", mine, now=NOON)
    take("rotas", theirs, now=NOON)
    take("books", mine, now=NOON)
    take("rotas", mine, now=NOON + HOUR)


@pytest.mark.django_db
def test_rows_have_a_share(settings):
    settings.FISHERY_SHARES = {"guests": 2}
    fishery = FisheryFactory()
    guests = Guest.objects.filter(fishery=fishery)
    GuestFactory(fishery=fishery)
    refuse_when_full("guests", guests)
    GuestFactory(fishery=fishery)
    with pytest.raises(FullShare, match="share of this service is 2 guests, and it is taken"):
        refuse_when_full("guests", guests)


@pytest.mark.django_db
def test_every_kind_has_a_figure():
    assert all(share_of(what) >= 20 for what in {**AN_HOUR, **IN_ALL})


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("what", "path", "body"),
    [
        ("guests", "guests/", {"name": "A. Person"}),
        ("hooks", "hooks/", {"url": "https://example.org/told", "label": "book-keeping"}),
        ("keys", "payment-keys/", {"label": "bank"}),
        ("keys", "board-keys/", {"label": "board"}),
        ("calendars", "feeds/", {"label": "mine"}),
    ],
)
def test_what_is_over_the_share_is_refused_in_words(settings, what, path, body):
    fishery = FisheryFactory()
    owner = client_of(keeper(fishery))
    under = path in {"guests/", "feeds/"}
    address = f"/api/v1/{path}" if under else f"/api/v1/fisheries/{fishery.slug}/{path}"
    body |= {"fishery": fishery.slug} if under else {}
    settings.FISHERY_SHARES = {what: 1}
    first, second = (owner.post(address, body, content_type="application/json") for _ in range(2))
    assert first.status_code == 201, first.json()
    assert second.status_code == 409
    assert "ask whoever runs the service for more" in second.json()["detail"]


@pytest.mark.django_db
@pytest.mark.parametrize("file", ["fish/", "season-report/2026/", "statistics/2026/"])
def test_a_file_of_the_season_over_the_share_is_refused_before_it_begins(settings, file):
    settings.FISHERY_SHARES = {"books": 1}
    fishery = FisheryFactory()
    owner = client_of(keeper(fishery))
    address = f"/api/v1/fisheries/{fishery.slug}/{file}"
    assert owner.get(address).status_code == 200
    assert owner.get(address).status_code == 429


@pytest.mark.django_db
def test_the_report_by_page_comes_out_of_the_same_share(settings, client):
    settings.FISHERY_SHARES = {"books": 1}
    fishery = FisheryFactory()
    owner = keeper(fishery)
    client.force_login(owner)
    assert client_of(owner).get(f"/api/v1/fisheries/{fishery.slug}/season-report/2026/").status_code == 200
    refused = client.get(reverse("house-season-report", args=[fishery.slug, 2026]))
    assert (refused.status_code, "share of this service" in refused.content.decode()) == (429, True)


def test_a_share_of_an_unknown_kind_is_told(settings):
    settings.FISHERY_SHARES = {"rota": 5, "guests": 0}
    (fault,) = [each for each in checks.run_checks() if each.id == "beats.E001"]
    assert fault.msg == "FISHERY_SHARES says rota=5, guests=0."
    assert "rotas waiting" in fault.hint


@pytest.mark.django_db
def test_the_check_says_whether_the_wall_stands(monkeypatch):
    call_command("check", databases=["default"])
    assert the_wall_stands(databases=["default"]) == []
    if connection.vendor == "postgresql":
        monkeypatch.setattr(connection, "has_wall", False, raising=False)
        (told,) = the_wall_stands(databases=["default"])
        assert "CREATE ROLE rodtally_behind_wall" in told.hint
