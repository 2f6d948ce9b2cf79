"""Signed out everywhere: whatever was signed in opens nothing afterwards, of that person and of nobody else."""

import datetime as dt

import pytest
from django.contrib.auth import SESSION_KEY
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from rest_framework.test import APIClient

from beats.authentication import issue_token
from beats.models import AccessToken, AuditEntry
from beats.services.sign_in import WrongCode, ask_for_code, code_of, use_code
from beats.services.sign_out import sign_out_everywhere
from sessions.models import Outing
from tests.factories import OutingFactory, guest_with_account

pytestmark = pytest.mark.django_db
CALL = "/api/v1/me/sign-out-everywhere/"


@pytest.fixture
def user(beat):
    return guest_with_account(beat.fishery).user


def browser_of(user):
    client = Client()
    client.force_login(user)
    return client


def bearer_of(user, label="program"):
    return APIClient(headers={"Authorization": f"Bearer {issue_token(user, label=label, now=timezone.now())}"})


def is_in(browser):
    return browser.get("/day/").status_code == 200


def test_every_browser_and_token_of_the_person_ends_and_nobody_elses(beat, user, owner):
    browsers, program = [browser_of(user) for _ in range(2)], bearer_of(user)
    others, their_program = browser_of(owner), bearer_of(owner)
    assert all(map(is_in, browsers))
    answer = browsers[0].post(reverse("sign-out-everywhere"))
    assert (answer.status_code, "You are signed out everywhere" in answer.content.decode()) == (200, True)
    assert SESSION_KEY not in browsers[0].session
    assert not any(map(is_in, browsers))
    assert program.get("/api/v1/me/").status_code == 401
    assert is_in(others)
    assert their_program.get("/api/v1/me/").status_code == 200


def test_the_call_ends_the_token_that_made_it(user):
    browser, program, other = browser_of(user), bearer_of(user), bearer_of(user, "another")
    assert program.post(CALL).status_code == 204
    assert [each.get("/api/v1/me/").status_code for each in (program, other)] == [401, 401]
    assert program.post(CALL).status_code == 401
    assert not is_in(browser)


def test_whoever_signs_in_anew_is_in_and_the_lost_telephone_stays_out(user):
    lost = browser_of(user)
    for _ in range(2):
        sign_out_everywhere(by=user, now=timezone.now())
        found = browser_of(type(user).objects.get(pk=user.pk))
        assert is_in(found)
        assert not is_in(lost)


def test_a_session_of_before_stays_out_when_the_services_secret_changes(user, settings):
    lost = browser_of(user)
    kept = browser_of(user)
    settings.SECRET_KEY_FALLBACKS, settings.SECRET_KEY = [settings.SECRET_KEY], "n" * 60
    assert is_in(kept)
    sign_out_everywhere(by=user, now=timezone.now())
    assert not is_in(lost)
    assert not is_in(kept)


def test_a_code_not_typed_yet_opens_nothing(user):
    now = timezone.now()
    row = ask_for_code(user.email, client="192.0.2.1", language="en", now=now)
    sign_out_everywhere(by=user, now=now)
    with pytest.raises(WrongCode):
        use_code(row.pk, code_of(row.pk), now=now + dt.timedelta(seconds=5))


def test_the_trail_says_it_once_with_how_many_tokens(user):
    for label in ("one", "two"):
        issue_token(user, label=label, now=timezone.now())
    issue_token(user, label="old", now=timezone.now() - dt.timedelta(days=400))
    now = timezone.now()
    sign_out_everywhere(by=user, now=now)
    entry = AuditEntry.objects.get(verb="sign out everywhere")
    assert (entry.by, entry.fishery, entry.subject, entry.after) == (
        user, None, f"beats.user:{user.pk}", {"tokens": 2},
    )  # fmt: skip
    assert not AccessToken.objects.filter(user=user, expires_at__gt=now).exists()


def test_an_outing_stands_and_is_watched_on(user, beat):
    outing = OutingFactory(guest=user.guests.get(), beat=beat)
    sign_out_everywhere(by=user, now=timezone.now())
    kept = Outing.objects.get(pk=outing.pk)
    assert (kept.checked_out_at, kept.alarm_at) == (None, outing.alarm_at)


def test_it_is_asked_first_and_opening_the_page_ends_nothing(user):
    browser = browser_of(user)
    page = browser.get(reverse("sign-out-everywhere")).content.decode()
    assert "Sign out everywhere?" in page
    assert "If you are on the water, stay signed in" in page
    assert is_in(browser)
    assert reverse("sign-out-everywhere") in browser.get(reverse("sign-out")).content.decode()


def test_the_owner_finds_it_beside_their_tokens(beat, owner):
    page = browser_of(owner).get(reverse("house-people", args=[beat.fishery.slug])).content.decode()
    assert reverse("sign-out-everywhere") in page
