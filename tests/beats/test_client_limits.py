"""Limits on signing in count the client, also behind a proxy, and nobody can keep another person out."""

import datetime as dt

import pytest
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from beats.models import SignIn
from beats.services.sign_in import LONGEST_DELAY, send_codes
from beats.shared.client_address import client_address, networks
from tests.factories import UserFactory

PROXY = "10.0.0.7"
PROXIES = networks(["10.0.0.0/8", "2001:db8:ff::/48"])
# Addresses for documentation: RFC 5737 and RFC 3849.


@pytest.mark.parametrize(
    ("remote", "forwarded", "client"),
    [
        ("192.0.2.1", "", "192.0.2.1"),
        ("192.0.2.1", "198.51.100.9", "192.0.2.1"),  # no proxy of ours: its header is its own invention
        (PROXY, "198.51.100.9", "198.51.100.9"),
        (PROXY, "203.0.113.5, 198.51.100.9", "198.51.100.9"),  # the left one came with the request
        (PROXY, "198.51.100.9, 10.1.1.1", "198.51.100.9"),
        (PROXY, "", PROXY),
        (PROXY, "10.1.1.1", "10.1.1.1"),
        (PROXY, "unknown", ""),
        (PROXY, "198.51.100.9, _hidden", ""),
        ("", "", ""),
        ("2001:db8:ff::1", "2001:db8:1:2:3:4:5:6", "2001:db8:1:2::/64"),
        ("::ffff:10.0.0.7", "::ffff:198.51.100.9", "198.51.100.9"),
        (PROXY, "9" * 100_000, ""),
    ],
)
def test_the_client_is_the_first_from_the_right_that_is_no_proxy(remote, forwarded, client):
    assert client_address(remote, forwarded, PROXIES) == client


@pytest.fixture
def behind(settings):
    settings.BEHIND_TLS_PROXY, settings.TRUSTED_PROXIES = True, PROXIES


def ask(email, forwarded, remote=PROXY):
    return Client().post(
        reverse("sign-in"), {"email": email}, REMOTE_ADDR=remote, headers={"X-Forwarded-For": forwarded}
    )


@pytest.mark.django_db
def test_what_one_client_asks_shuts_out_no_other(behind):
    user = UserFactory()
    answers = [ask(f"nobody{n}@example.org", "198.51.100.1").status_code for n in range(45)]
    assert answers == [303] * 40 + [422] * 5
    assert ask(user.email, "203.0.113.77").status_code == 303


@pytest.mark.django_db
def test_an_invented_header_does_not_get_round_the_limit(behind):
    answers = [ask(f"nobody{n}@example.org", f"203.0.113.{n}, 198.51.100.1").status_code for n in range(45)]
    assert answers.count(422) == 5


@pytest.mark.django_db
def test_asking_for_somebody_else_s_code_keeps_them_out_by_no_more_than_two_minutes(behind):
    user = UserFactory()
    answers = [ask(user.email, f"198.51.100.{n // 6}").status_code for n in range(200)]
    assert set(answers) == {303}
    SignIn.objects.all().delete()
    assert ask(user.email, "203.0.113.77").status_code == 303
    now = timezone.now()
    send_codes(clock=lambda: now)
    assert mail.outbox == []
    send_codes(clock=lambda: now + LONGEST_DELAY)
    assert [letter.to for letter in mail.outbox] == [[user.email]]
    assert SignIn.objects.get().expires_at > now + LONGEST_DELAY + dt.timedelta(minutes=9)


@pytest.mark.django_db
def test_behind_a_proxy_that_is_not_named_clients_are_not_taken_for_one(settings):
    settings.BEHIND_TLS_PROXY, settings.TRUSTED_PROXIES = True, []
    assert {ask(f"nobody{n}@example.org", f"198.51.100.{n}").status_code for n in range(60)} == {303}


@pytest.mark.django_db
def test_the_same_client_may_ask_for_the_same_address_six_times_an_hour(behind):
    user = UserFactory()
    assert [ask(user.email, "198.51.100.1").status_code for _ in range(7)] == [303] * 6 + [422]
