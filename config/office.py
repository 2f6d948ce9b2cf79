"""Signing in to the back office with a password: tries are limited, and no one can keep another person out.

Limits count the client and the account together, so that the tries of one client refuse no other. What other
clients fail with at the same account only makes a client that has failed there itself wait longer.
"""

import datetime as dt
import math

from django.contrib.admin.forms import AdminAuthenticationForm
from django.core.exceptions import ValidationError
from django.utils import timezone

from beats.pages.client import client_of
from beats.shared.limits import counted, give_back, running

HOUR = dt.timedelta(hours=1)
OF_A_CLIENT, FOR_AN_ACCOUNT = 20, 10
"""Failures an hour of one client: in all, and at one account."""
FREE = 2
"""Failures without a wait after them."""
FIRST_WAIT, LONGEST_WAIT = dt.timedelta(seconds=5), dt.timedelta(minutes=2)
FROM, AS = "sign in to the office from", "sign in to the office as"
FAILED, WAIT = "fail to sign in to the office", "wait for the office"


class OfficeSignIn(AdminAuthenticationForm):
    """Django's own form, which counts tries before it looks at the password."""

    def clean(self):
        now, client = timezone.now(), client_of(self.request)
        account = self.cleaned_data.get("username", "").strip().lower()
        if not client or not account:
            return super().clean()
        pair = f"{account} {client}"
        self._refuse_while_waiting(account, pair, now)
        self._refuse_too_many(client, pair, now)
        try:
            cleaned = super().clean()
        except ValidationError:
            counted(FAILED, account, each=HOUR, now=now)
            counted(WAIT, pair, each=_wait(account, pair, now), now=now)
            raise
        give_back(FROM, client)
        give_back(AS, pair)
        return cleaned

    def _refuse_while_waiting(self, account: str, pair: str, now: dt.datetime) -> None:
        wait = _wait(account, pair, now)
        if running(AS, pair, each=HOUR, now=now) > FREE and running(WAIT, pair, each=wait, now=now):
            raise ValidationError(f"Wait {math.ceil(wait.total_seconds())} seconds, then try again.", code="wait")

    def _refuse_too_many(self, client: str, pair: str, now: dt.datetime) -> None:
        of_client = counted(FROM, client, each=HOUR, now=now)
        if counted(AS, pair, each=HOUR, now=now) > FOR_AN_ACCOUNT or of_client > OF_A_CLIENT:
            raise ValidationError(
                "Too many failed tries from this network. Wait an hour, or sign in from another one.", code="often"
            )


def _wait(account: str, pair: str, now: dt.datetime) -> dt.timedelta:
    """Doubles with each failure of this client, and begins longer the more failures an account has."""
    mine = max(running(AS, pair, each=HOUR, now=now) - FREE, 0)
    others = running(FAILED, account, each=HOUR, now=now) // 20
    return min(FIRST_WAIT * 2 ** min(mine + others, 10), LONGEST_WAIT)
