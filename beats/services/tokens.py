"""Tokens of a person's own programs: made and shown once, and withdrawn."""

import datetime as dt

from django.db import transaction

from beats.audit import record
from beats.authentication import issue_token
from beats.models import AccessToken, Fishery, User
from beats.queries import Role, require_role
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked


class TooManyTokens(Refusal):
    """More programs than one person has."""

    code = "too-many-tokens"
    title = say("Too many tokens")


class MadeAlready(Refusal):
    """The same button was pressed again, and the secret was shown already."""

    code = "token-made-already"
    title = say("Made already")


MOST_TOKENS = 50


@transaction.atomic
def make_token(fishery: Fishery, *, label: str, days: int, by: User, now: dt.datetime) -> str:
    """A token that acts as `by` wherever they have a part. The secret can be read this once.

    Two of one name would not be told apart when one is to go. Raises MadeAlready, TooManyTokens, NotYours.
    """
    require_role(by, fishery, Role.OWNER)
    locked(User.objects, pk=by.pk)  # two taps come one after the other
    standing = tokens_of(by, now=now)
    if standing.filter(label=label).exists():
        raise MadeAlready(
            say(
                "A token called {label} stands already. If you did not read its secret, withdraw it; "
                "or choose another name.",
                label=label,
            ),
            errors={"label": [say("Choose another name.")]},
        )
    if standing.count() >= MOST_TOKENS:
        raise TooManyTokens(
            say("You have {most_tokens} tokens. Withdraw one that nothing uses any more.", most_tokens=MOST_TOKENS)
        )
    secret = issue_token(by, label=label, now=now, life=dt.timedelta(days=days))
    token = AccessToken.objects.filter(user=by, label=label).latest("pk")
    facts = {"label": label, "expires_at": token.expires_at}
    record("make token", token, by=by, now=now, fishery=fishery, after=facts)
    return secret


@transaction.atomic
def withdraw_token(token: AccessToken, *, fishery: Fishery, by: User, now: dt.datetime) -> None:
    """The token opens nothing from now on. Everybody withdraws their own alone; once more changes nothing."""
    require_role(by, fishery, Role.OWNER)
    gone = AccessToken.objects.filter(pk=token.pk, user=by, expires_at__gt=now).update(expires_at=now)
    if gone:
        record("withdraw token", token, by=by, now=now, fishery=fishery, before={"label": token.label})


def tokens_of(user: User, *, now: dt.datetime):
    """Those that still open something, newest first."""
    return AccessToken.objects.filter(user=user, expires_at__gt=now).order_by("-created_at", "-pk")
