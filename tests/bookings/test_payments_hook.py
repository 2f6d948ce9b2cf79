"""A signed message marks a let as paid: once, by its id, and only with the key of its own fishery."""

import json

import pytest
from django.utils import timezone
from rest_framework.test import APIClient

from beats.shared import signing
from beats.shared.signing import new_secret, sign
from bookings.models import LedgerEntry
from tests.factories import FisheryFactory, LetFactory, PaymentKeyFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def let(beat):
    return LetFactory(beat=beat)


@pytest.fixture
def key(beat):
    return PaymentKeyFactory(fishery=beat.fishery, label="the bank")


def told(paid, **other):
    facts = {"let": paid.pk, "amount": "250.00", "currency": "GBP", "reference": "ABC 1"} | other
    return json.dumps({"type": "payment.received", "timestamp": "2026-05-06T11:00:00Z", "data": facts}).encode()


def sent(key, body, *, message_id="msg_1", at_s=None, secret=None, slug=None):
    at_s = at_s or int(timezone.now().timestamp())
    headers = {
        "webhook-id": message_id,
        "webhook-timestamp": str(at_s),
        "webhook-signature": sign(secret or key.secret, message_id=message_id, at_s=at_s, body=body),
    }
    path = f"/api/v1/fisheries/{slug or key.fishery.slug}/payments/hook/"
    return APIClient().post(path, body, content_type="application/json", headers=headers)


def entries():
    return [(row.guest, str(row.amount), row.reference, row.note) for row in LedgerEntry.objects.order_by("id")]


def test_a_signed_payment_is_entered_for_whoever_booked(let, key):
    assert sent(key, told(let)).status_code == 201
    assert entries() == [(let.booker, "-250.00", "ABC 1", "reported by the bank")]


def test_the_same_message_again_changes_nothing(let, key):
    answers = [sent(key, told(let)) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [201, 200, 200]
    assert len({answer.json()["id"] for answer in answers}) == len(entries()) == 1


def test_a_used_id_with_another_body_is_refused(let, key):
    sent(key, told(let))
    response = sent(key, told(let, amount="999.00"))
    assert (response.status_code, response.json()["type"]) == (422, "/api/v1/problems/key-reused")
    assert len(entries()) == 1


def test_two_payments_of_one_sum_with_two_ids_are_two(let, key):
    assert [sent(key, told(let), message_id=name).status_code for name in ("msg_1", "msg_2")] == [201, 201]
    assert len(entries()) == 2


@pytest.mark.parametrize("late_s", [-301, 301])
def test_a_message_out_of_time_is_refused(let, key, late_s):
    response = sent(key, told(let), at_s=int(timezone.now().timestamp()) + late_s + (1 if late_s > 0 else -1))
    assert (response.status_code, entries()) == (401, [])
    assert "five minutes" in response.json()["detail"]


def test_a_key_of_another_fishery_or_a_revoked_one_opens_nothing(let, key):
    other = PaymentKeyFactory(fishery=FisheryFactory())
    assert sent(key, told(let), secret=other.secret).status_code == 401
    assert sent(other, told(let)).status_code == 404  # signed well, but the let is not theirs
    key.revoked_at = timezone.now()
    key.save()
    assert sent(key, told(let)).status_code == 401
    assert entries() == []


def test_one_key_may_follow_another(let, key):
    newer = PaymentKeyFactory(fishery=key.fishery)
    assert [sent(one, told(let), message_id=f"msg_{one.pk}").status_code for one in (key, newer)] == [201, 201]


@pytest.mark.parametrize(
    ("other", "status"),
    [
        ({"amount": "0.005"}, 400), ({"amount": "-5.00"}, 400), ({"amount": "NaN"}, 400), ({"let": 0}, 400),
        ({"currency": "pounds"}, 400), ({"currency": "EUR"}, 409), ({"let": 10**9}, 404),
    ],
)  # fmt: skip
def test_a_signature_does_not_make_a_bad_payment_good(let, key, other, status):
    assert sent(key, told(let, **other)).status_code == status
    assert entries() == []


def test_what_the_sender_adds_of_its_own_does_not_matter(let, key):
    assert sent(key, told(let, balance_after="12.00")).status_code == 201


def test_a_stranger_does_not_learn_which_fisheries_take_payments(let, key, django_assert_num_queries):
    """An unknown fishery, one without keys and one with a key: the same answer after the same queries."""
    bare, body, secret = FisheryFactory(), told(let), new_secret()
    seen = {}
    for slug in (key.fishery.slug, bare.slug, "no-such-water"):
        with django_assert_num_queries(1):
            answers = [sent(key, body, secret=secret, slug=slug)]
        answers.append(sent(key, body, secret=secret, slug=slug, at_s=1))
        answers.append(
            APIClient().post(f"/api/v1/fisheries/{slug}/payments/hook/", body, content_type="application/json")
        )
        seen[slug] = [
            (answer.status_code, answer.content, answer.headers.get("WWW-Authenticate")) for answer in answers
        ]
    assert seen[key.fishery.slug] == seen[bare.slug] == seen["no-such-water"]
    assert {status for status, *_ in seen[bare.slug]} == {401}


def test_a_key_is_compared_as_often_where_there_is_none(let, key, monkeypatch):
    compared = []
    verify = signing.verify
    monkeypatch.setattr(signing, "verify", lambda *a, **k: compared.append(1) or verify(*a, **k))
    for slug in (key.fishery.slug, FisheryFactory().slug, "no-such-water"):
        compared.clear()
        sent(key, told(let), secret=new_secret(), slug=slug)
        assert len(compared) == 1
