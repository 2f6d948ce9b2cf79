"""Secrets and codes against the figures of OWASP's ASVS 5.0 (2025), and what a program gone wrong can spend."""

import datetime as dt
import math
import re

import pytest
from django.utils import timezone

from beats.authentication import digest_of, issue_token, new_key
from beats.models import AccessToken
from beats.models.sign_in import CODE_LIFE, TRIES
from beats.services.sign_in import FIGURES
from beats.shared.limits import TooOften
from beats.shared.signing import new_secret
from sessions.models import Outing
from sessions.services import outings
from tests.factories import BeatFactory, UserFactory, guest_with_account


def bits_of(secret: str) -> float:
    """Of what follows the mark: base64 holds six bits a character."""
    return 6 * len(re.sub(r"^(gauge-|board-|whsec_)", "", secret).rstrip("="))


@pytest.mark.parametrize("make", [new_key, new_secret])
def test_secrets_hold_128_bits_and_are_never_the_same(make):
    """7.2.3: reference tokens from a secure generator, of at least 128 bits."""
    assert min(bits_of(make()) for _ in range(20)) >= 128
    assert len({make() for _ in range(200)}) == 200


@pytest.mark.django_db
def test_a_token_holds_128_bits_and_is_kept_as_a_digest_alone():
    token = issue_token(UserFactory(), label="x", now=timezone.now())
    kept = AccessToken.objects.values().get()
    assert bits_of(token) >= 128
    assert kept["digest"] == digest_of(token)
    assert token not in str(kept)


def test_a_code_by_e_mail_is_no_easier_to_guess_than_the_standard_asks():
    """6.5.4: 20 bits at least; 6.5.5: ten minutes at most; 6.6.3: tries are limited."""
    assert math.log2(10**FIGURES) >= 20
    assert CODE_LIFE.total_seconds() <= 600
    assert TRIES / 10**FIGURES < 1e-6  # NIST SP 800-63B, from memory, is content with one in a million


@pytest.mark.django_db
def test_a_program_gone_wrong_cannot_check_in_for_ever(monkeypatch):
    monkeypatch.setattr(outings, "CHECK_INS_AN_HOUR", 3)
    beat, now = BeatFactory(), timezone.now()
    guest = guest_with_account(beat.fishery)

    def out_and_in():
        outing, _ = outings.check_in(
            guest, beat=beat, pool=None, alone=False, due_back_at=now + dt.timedelta(hours=1), party=2,
            by=guest.user, now=now,
        )  # fmt: skip
        outings.check_out(outing, by=guest.user, now=now)

    for _ in range(3):
        out_and_in()
    with pytest.raises(TooOften, match="tried 3 times in 60 minutes"):
        out_and_in()
    assert Outing.objects.count() == 3
