"""Signatures against the open standard "Standard Webhooks" 1.0.0: its published vector, and its own library."""

import datetime as dt

import pytest
from hypothesis import given
from hypothesis import strategies as st
from standardwebhooks.webhooks import Webhook

from beats.shared.signing import BadSignature, new_secret, sign, verify

# The vector of the standard's own test suites (github.com/standard-webhooks/standard-webhooks).
SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
ID, AT_S, BODY = "msg_p5jXN8AQM9LWM0D4loKWxJek", 1614265330, b'{"test": 2432232314}'
SIGNATURE = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def verified(**other):
    sent = {"message_id": ID, "timestamp": str(AT_S), "signature": SIGNATURE, "body": BODY, "now_s": AT_S}
    return verify(SECRET, **(sent | other))


def test_the_published_vector_is_signed_and_taken():
    assert sign(SECRET, message_id=ID, at_s=AT_S, body=BODY) == SIGNATURE
    assert verified() == ID


def test_one_of_several_signatures_is_enough():
    assert verified(signature=f"v1,{'A' * 43}= v1a,bogus {SIGNATURE}") == ID


@pytest.mark.parametrize("seconds", [-300, 300])
def test_five_minutes_either_way_are_allowed(seconds):
    assert verified(now_s=AT_S + seconds) == ID


@pytest.mark.parametrize(
    "other",
    [
        {"now_s": AT_S + 301}, {"now_s": AT_S - 301}, {"body": BODY + b" "}, {"message_id": ID[:-1]},
        {"timestamp": str(AT_S + 1)}, {"signature": SIGNATURE.replace("v1,", "v2,")},
        {"signature": SIGNATURE[:-2]}, {"signature": "v1,"}, {"signature": "\N{FISH}"}, {"message_id": None},
        {"timestamp": None}, {"signature": None}, {"timestamp": "NaN"}, {"timestamp": "-5"},
        {"timestamp": "9" * 40}, {"timestamp": "\N{ARABIC-INDIC DIGIT FOUR}"},
        {"message_id": "m" * 129}, {"message_id": "m\n"},
    ],
)  # fmt: skip
def test_anything_else_is_refused(other):
    with pytest.raises(BadSignature):
        verified(**other)


@given(text=st.text(st.characters(exclude_categories=["Cs"])), at_s=st.integers(1, 4_000_000_000))
def test_the_standard_s_own_library_signs_the_same(text, at_s):
    secret = new_secret()
    theirs = Webhook(secret).sign("msg_1", dt.datetime.fromtimestamp(at_s, tz=dt.UTC), text)
    assert sign(secret, message_id="msg_1", at_s=at_s, body=text.encode()) == theirs
