"""Signing out everywhere, for whoever lost a telephone or a token."""

import datetime as dt

from django.db import transaction
from django.db.models import F

from beats.audit import record
from beats.models import SignIn, User
from beats.services.tokens import tokens_of
from beats.shared.rows import locked


@transaction.atomic
def sign_out_everywhere(*, by: User, now: dt.datetime) -> None:
    """Every browser's session, every token and every code not typed yet of `by` opens nothing from now on.

    What asks for it is signed out as well. No alarm, outing or push address is touched.
    """
    locked(User.objects, pk=by.pk)
    tokens = tokens_of(by, now=now).update(expires_at=now)
    SignIn.objects.filter(user=by, used_at__isnull=True, expires_at__gt=now).update(used_at=now)
    User.objects.filter(pk=by.pk).update(sign_outs=F("sign_outs") + 1)
    record("sign out everywhere", by, by=by, now=now, fishery=None, after={"tokens": tokens})
