"""The back office's password: tries are limited by client and account, and no one can keep another person out.

ASVS 5.0, 6.3.1 (limits against guessing) and 6.1.1 (no malicious lockout of accounts), from memory.
"""

import datetime as dt
import itertools

import pytest
from django.test import Client
from django.utils import timezone

from beats.models import User
from beats.shared.client_address import networks

pytestmark = pytest.mark.django_db
PROXY = "10.0.0.7"
PASSWORD = "a long enough pass phrase"
STAFF = "keys@example.org"


@pytest.fixture(autouse=True)
def behind(settings):
    settings.BEHIND_TLS_PROXY, settings.TRUSTED_PROXIES = True, networks(["10.0.0.0/8"])
    User.objects.create_superuser(STAFF, password=PASSWORD, name="Keeper of keys")


@pytest.fixture
def checked(monkeypatch):
    """How many passwords were looked at."""
    found = []

    def check(raw, *_others, **_more):
        found.append(raw)
        return raw == PASSWORD

    monkeypatch.setattr("django.contrib.auth.base_user.check_password", check)
    return found


def sign_in(address, password=PASSWORD, email=STAFF):
    """Whether this client gets in, and the page."""
    client = Client()
    answer = client.post(
        "/office/login/?next=/office/", {"username": email, "password": password},
        REMOTE_ADDR=PROXY, headers={"X-Forwarded-For": address},
    )  # fmt: skip
    return answer.status_code == 302, answer.content.decode()


def test_one_client_looks_at_few_passwords(checked):
    pages = [sign_in("198.51.100.1", f"guess {n}")[1] for n in range(200)]
    assert len(checked) <= 10
    assert "Wait" in pages[-1]
    assert not sign_in("198.51.100.1")[0]


def test_one_client_that_goes_through_accounts_looks_at_few_passwords(checked):
    for number in range(200):
        sign_in("198.51.100.1", "guess", email=f"person{number}@example.org")
    assert "Too many" in sign_in("198.51.100.1", "guess", email="one-more@example.org")[1]


def test_two_hundred_failures_of_others_keep_the_person_out_of_nothing(checked):
    for number in range(200):
        assert not sign_in(f"198.51.100.{number // 5}", f"guess {number}")[0]
    assert sign_in("203.0.113.77")[0]


def test_who_signs_in_rightly_may_do_so_as_often_as_they_like():
    assert all(sign_in("203.0.113.77")[0] for _ in range(30))


def test_the_wait_grows_with_each_failure(checked, monkeypatch):
    waits = []
    at = {"s": 0}
    start = timezone.now()
    monkeypatch.setattr("config.office.timezone.now", lambda: start + dt.timedelta(seconds=at["s"]))
    for _ in range(1500):
        page = sign_in("198.51.100.1", "guess")[1]
        at["s"] += 1
        if "Wait" not in page and "Too many" not in page:
            waits.append(at["s"])
        if len(waits) == 10:
            break
    gaps = [later - one for one, later in itertools.pairwise(waits)]
    assert gaps[0] <= 2
    assert gaps[-1] >= 100
    assert gaps == sorted(gaps)


def test_where_clients_are_not_known_none_shuts_out_another(settings):
    settings.TRUSTED_PROXIES = []
    for number in range(50):
        sign_in("198.51.100.1", f"guess {number}")
    assert sign_in("203.0.113.77")[0]
