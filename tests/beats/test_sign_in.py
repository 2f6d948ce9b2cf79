"""Signing in by a code: only in the browser that asked, once, for ten minutes, told alike to everybody."""

import datetime as dt
import re

import pytest
from django.contrib.sessions.models import Session
from django.core import mail
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from beats.models import SignIn, Spent
from beats.services.sign_in import code_of, forget_codes, send_codes
from tests.factories import UserFactory

pytestmark = pytest.mark.django_db


def ask(client, email):
    return client.post(reverse("sign-in"), {"email": email})


def sent_code():
    send_codes(clock=timezone.now)
    return re.search(r"(\d{4} \d{4})", mail.outbox[-1].subject)[1]


def type_in(client, code):
    return client.post(reverse("sign-in-code"), {"code": code})


def test_the_code_lets_in_the_browser_that_asked_and_no_other(client):
    user = UserFactory()
    assert ask(client, user.email.upper()).status_code == 303
    code = sent_code()
    other = Client()
    assert type_in(other, code).url == reverse("sign-in")
    ask(other, user.email)
    assert type_in(other, code).status_code == 422
    assert type_in(client, code).status_code == 303
    assert client.session["_auth_user_id"] == str(user.pk)


def test_whoever_asks_is_told_the_same(client):
    known, unknown = Client(), Client()
    ask(known, UserFactory().email)
    ask(unknown, "nobody@example.org")
    pages = [each.get(reverse("sign-in-code")).content for each in (known, unknown)]
    strip = [re.sub(rb'value="[^"]*"', b"", page) for page in pages]
    assert strip[0] == strip[1]
    send_codes(clock=timezone.now)
    assert len(mail.outbox) == 1


def test_a_code_works_once(client):
    ask(client, UserFactory().email)
    code, row = sent_code(), SignIn.objects.get()
    type_in(client, code)
    row.refresh_from_db()
    assert row.used_at is not None
    again = Client()
    session = again.session
    session["sign-in asked"] = str(row.pk)
    session.save()
    assert type_in(again, code).status_code == 422


def test_five_tries_and_no_more(client):
    ask(client, UserFactory().email)
    code = sent_code()
    wrong = "0000 0000" if code != "0000 0000" else "1111 1111"
    assert [type_in(client, wrong).status_code for _ in range(5)] == [422] * 5
    assert type_in(client, code).status_code == 422


def test_ten_minutes_and_no_longer(client):
    """ASVS 5.0, 6.5.5."""
    ask(client, UserFactory().email)
    code = sent_code()
    SignIn.objects.update(expires_at=timezone.now() - dt.timedelta(seconds=1))
    assert type_in(client, code).status_code == 422


def test_a_code_has_more_than_twenty_bits():
    """ASVS 5.0, 6.5.4."""
    import uuid  # noqa: PLC0415

    codes = {code_of(uuid.uuid4()) for _ in range(2000)}
    assert len(codes) > 1990
    assert all(re.fullmatch(r"\d{8}", code) for code in codes)


def test_an_address_is_not_flooded(client):
    user = UserFactory()
    answers = [ask(Client(), user.email) for _ in range(8)]
    assert [each.status_code for each in answers] == [303] * 6 + [422] * 2
    assert "Wait a while" in answers[-1].content.decode()


def test_next_never_leads_away(client):
    user = UserFactory()
    client.get(reverse("sign-in") + "?next=https://elsewhere.example/")
    ask(client, user.email)
    assert type_in(client, sent_code()).url == reverse("home")


def test_a_mail_scanner_that_opens_and_posts_everything_signs_nobody_in(client):
    ask(client, UserFactory().email)
    code = sent_code()
    scanner = Client()
    for path in ("sign-in", "sign-in-code", "kept"):
        scanner.get(reverse(path))
        scanner.post(reverse(path), {"code": code})
    assert "_auth_user_id" not in scanner.session


def test_signing_out_is_asked_once(client):
    client.force_login(UserFactory())
    assert client.get(reverse("sign-out")).status_code == 200
    assert "_auth_user_id" in client.session
    client.post(reverse("sign-out"))
    assert "_auth_user_id" not in client.session


def test_a_page_lets_nothing_in_from_outside(client):
    policy = client.get(reverse("sign-in")).headers["Content-Security-Policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy


def test_no_cookie_no_form(client):
    strict = Client(enforce_csrf_checks=True)
    answer = strict.post(reverse("sign-in"), {"email": "a@example.org"})
    assert answer.status_code == 403
    assert "This browser keeps no cookies" in answer.content.decode()


def test_a_session_that_is_over_is_deleted_and_no_other(client):
    now = timezone.now()
    for days in (-1, 1):
        Session.objects.create(session_key=f"k{days}", session_data="", expire_date=now + dt.timedelta(days=days))
    forget_codes(now=now)
    assert [row.session_key for row in Session.objects.all()] == ["k1"]


def test_codes_and_counts_are_forgotten_after_a_day(client):
    ask(client, UserFactory().email)
    now = timezone.now()
    forget_codes(now=now + dt.timedelta(hours=23))
    assert SignIn.objects.exists()
    assert Spent.objects.exists()
    forget_codes(now=now + dt.timedelta(hours=25))
    assert not SignIn.objects.exists()
    assert not Spent.objects.exists()
