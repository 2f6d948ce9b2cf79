"""People and tokens by hand: who is seen, what is made and withdrawn, and whom the pages turn away."""

import datetime as dt
import re

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from beats.authentication import issue_token
from beats.models import AccessToken, AuditEntry
from tests.factories import guest_with_account, keeper
from tests.pages import at

pytestmark = pytest.mark.django_db


def token_of(user, label="thermometer"):
    issue_token(user, label=label, now=timezone.now())
    return AccessToken.objects.get(user=user, label=label)


def status_with(secret):
    client = APIClient()
    client.credentials(HTTP_AUTHORIZATION=f"Bearer {secret}")
    return client.get("/api/v1/fisheries/").status_code


def test_everybody_is_shown_with_their_part_and_who_cannot_be_rung(house, beat):
    ghillie = keeper(beat.fishery, "ghillie")
    guest = guest_with_account(beat.fishery)
    page = house.get(at("house-people", beat)).content.decode()
    assert re.search(f"{ghillie.name}</strong>, ghillie", page)
    assert guest.user.email in page
    assert "the watch cannot ring or text them" in page


def test_opening_the_pages_makes_and_withdraws_nothing(house, beat, owner):
    token = token_of(owner)
    for path in (
        at("house-people", beat),
        at("house-new-token", beat),
        at("house-withdraw-token", beat, token.pk),
    ):
        assert house.get(path).status_code == 200
    assert list(AccessToken.objects.values_list("expires_at", flat=True)) == [token.expires_at]
    assert not AuditEntry.objects.exists()


def test_a_token_is_shown_once_opens_the_api_and_is_noted(house, beat, owner):
    answer = house.post(at("house-new-token", beat), {"label": "Hut thermometer", "days": "30"})
    secret = re.search(r"<code>([^<]+)</code>", answer.content.decode())[1]
    assert status_with(secret) == 200
    token = AccessToken.objects.get()
    assert (token.user, token.expires_at - token.created_at) == (owner, dt.timedelta(days=30))
    page = house.get(at("house-people", beat)).content.decode()
    assert "Hut thermometer" in page
    assert secret not in page
    noted = AuditEntry.objects.get()
    assert (noted.verb, noted.by) == ("make token", owner)
    assert secret not in str(noted.after)
    assert "no-cache" in answer["Cache-Control"]


def test_a_double_tap_makes_one_and_says_what_to_do(house, beat):
    form = {"label": "Hut thermometer", "days": "30"}
    assert house.post(at("house-new-token", beat), form).status_code == 200
    again = house.post(at("house-new-token", beat), form)
    page = again.content.decode()
    assert (again.status_code, AccessToken.objects.count()) == (422, 1)
    assert "withdraw it; or choose another name" in page
    assert 'value="Hut thermometer"' in page


@pytest.mark.parametrize("wrong", [{"label": ""}, {"label": "x" * 81}, {"days": "9999"}, {"days": "soon"}])
def test_a_token_without_a_name_or_without_an_end_is_refused(house, beat, wrong):
    answer = house.post(at("house-new-token", beat), {"label": "Hut", "days": "30"} | wrong)
    assert (answer.status_code, AccessToken.objects.count()) == (422, 0)


def test_a_withdrawn_token_opens_nothing(house, beat, owner):
    secret = issue_token(owner, label="lost telephone", now=timezone.now())
    assert status_with(secret) == 200
    token = AccessToken.objects.get()
    path = at("house-withdraw-token", beat, token.pk)
    assert "lost telephone" in house.get(path).content.decode()
    assert house.post(path, {"key": "w1"}).status_code == 303
    assert status_with(secret) == 401
    assert [entry.verb for entry in AuditEntry.objects.all()] == ["withdraw token"]
    assert house.post(path, {"key": "w1"}).status_code == 404
    assert "lost telephone" not in house.get(at("house-people", beat)).content.decode()


def test_nobody_withdraws_a_token_of_somebody_else(house, beat):
    token = token_of(keeper(beat.fishery))
    assert house.post(at("house-withdraw-token", beat, token.pk), {"key": "w1"}).status_code == 404
    assert AccessToken.objects.get().expires_at == token.expires_at
