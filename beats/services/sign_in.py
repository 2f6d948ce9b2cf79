"""Signing in with a code that goes by e-mail and works only in the browser that asked for it.

Whoever asks is told the same, whether the address is known or not, and the letter goes later, so that the
time an answer takes tells nothing either. The code is reckoned from the row's own id and the service's
secret: reading the table does not give it away.
"""

import datetime as dt
import hashlib
import hmac
import uuid
from collections.abc import Callable

from django.conf import settings
from django.contrib.sessions.models import Session
from django.core.mail import send_mail
from django.db import transaction
from django.db.models import F
from django.utils import translation
from django.utils.translation import gettext as _

from beats.models import SignIn, Spent, User
from beats.models.sign_in import CODE_LIFE, TRIES
from beats.shared import outbox
from beats.shared.limits import counted, spend
from beats.shared.outbox import Outgoing
from beats.shared.refusals import Refusal

HOUR = dt.timedelta(hours=1)
FIGURES = 8
"""26 bits: above the 20 that ASVS 5.0 (6.5.4) asks of a code with a limit on tries."""
WAITS = (dt.timedelta(seconds=10), dt.timedelta(seconds=60))
KEPT = dt.timedelta(days=1)
ASKS_OF_A_CLIENT, AT_ONCE = 40, 6
"""Codes an hour that a client may ask for in all; for one e-mail address, and that one is sent without delay."""
FIRST_DELAY, LONGEST_DELAY = dt.timedelta(seconds=5), dt.timedelta(minutes=2)


class WrongCode(Refusal):
    """The code is not the one that was sent to this browser's asker."""

    code = "wrong-code"
    title = "Wrong code"
    status = 400


def ask_for_code(email: str, *, client: str, language: str, now: dt.datetime) -> SignIn:
    """A code for whoever has this e-mail address. Raises TooOften.

    `client` is the asker's network address, "" where it is not known. Only the asker's own tries are refused. What
    others ask for the same address makes its letters later, by two minutes at most, and keeps nobody out.
    """
    email = email.strip().lower()
    if client:
        spend("ask for a code from", client, allowed=ASKS_OF_A_CLIENT, each=HOUR, now=now)
        spend("ask for a code for", f"{email} {client}", allowed=AT_ONCE, each=HOUR, now=now)
    leaves_at = now + _delay(counted("ask for a code for", email, each=HOUR, now=now))
    user = User.objects.filter(email=email, is_active=True).first()
    return SignIn.objects.create(
        user=user, language=language, written_at=now, next_try_at=leaves_at, expires_at=leaves_at + CODE_LIFE,
        state=Outgoing.State.WAITING if user else Outgoing.State.NOT_NEEDED,
    )  # fmt: skip


def _delay(times: int) -> dt.timedelta:
    """None for the first few, then doubling."""
    over = times - AT_ONCE
    return min(FIRST_DELAY * 2 ** min(over - 1, 16), LONGEST_DELAY) if over > 0 else dt.timedelta(0)


def use_code(pk: uuid.UUID | str | None, typed: str, *, now: dt.datetime) -> User:
    """Whose code it is. Each try is counted before the code is looked at; a code works once. Raises WrongCode."""
    with transaction.atomic():
        counted = SignIn.objects.filter(pk=pk, used_at__isnull=True, expires_at__gt=now, tries__lt=TRIES).update(
            tries=F("tries") + 1
        )
    row = SignIn.objects.select_related("user").filter(pk=pk).first() if counted else None
    if row is None:
        raise WrongCode(_("This code is used up or too old. Ask for a new one."))
    right = hmac.compare_digest(code_of(row.pk), "".join(c for c in typed if c.isdecimal()))
    if not right or row.user is None or not row.user.is_active:
        raise WrongCode(_("That is not the code we sent to you. Look again; after five tries ask for a new one."))
    if not SignIn.objects.filter(pk=row.pk, used_at__isnull=True).update(used_at=now):
        raise WrongCode(_("This code is used up or too old. Ask for a new one."))
    return row.user


def code_of(pk: uuid.UUID) -> str:
    """Eight figures."""
    digest = hmac.new(settings.SECRET_KEY.encode(), b"sign in" + pk.bytes, hashlib.sha256).digest()
    return f"{int.from_bytes(digest, 'big') % 10**FIGURES:0{FIGURES}}"


def send_codes(*, clock: Callable[[], dt.datetime]) -> outbox.Round:
    """Send what is waiting. Idempotent."""
    return outbox.send_due(SignIn, _send, waits=WAITS, clock=clock, at_once=2)


def forget_codes(*, now: dt.datetime) -> None:
    """Codes and counts of yesterday and before, and sessions that are over: none says anything any more.

    Idempotent.
    """
    SignIn.objects.filter(written_at__lt=now - KEPT).delete()
    Spent.objects.filter(since__lt=now - KEPT).delete()
    Session.objects.filter(expire_date__lt=now).delete()


def _send(row: SignIn) -> None:
    code = code_of(row.pk)
    with translation.override(row.language):
        send_mail(
            _("Your code for Rodtally: %(code)s") % {"code": f"{code[:4]} {code[4:]}"},
            _(
                "Type %(code)s where you asked for it. It works for ten minutes, and only in that browser.\n\n"
                "You did not ask? Then somebody typed your address. Without the code they cannot get in; do not "
                "pass it on. Nobody at the fishery will ever ask you for it."
            )
            % {"code": f"{code[:4]} {code[4:]}"},
            None,
            [row.user.email],
        )
