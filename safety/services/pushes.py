"""A person's push addresses: noted, dropped, forgotten when the push service no longer knows them."""

import datetime as dt

from django.conf import settings
from django.db import transaction
from django.http import Http404

from beats.audit import record
from beats.models import User
from beats.outbound import NotFetched, check_open
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from safety import push
from safety.models import PushAddress
from safety.services.channels_available import told_otherwise

MOST = 10


class NoPush(Refusal):
    """The service has no key to push with."""

    code = "no-push"
    title = "Nothing is pushed here"


class TooManyPushAddresses(Refusal):
    """More phones than anybody carries."""

    code = "too-many-push-addresses"
    title = "Too many phones"


class BadPushAddress(Refusal):
    """Nothing can be pushed to that."""

    code = "bad-push-address"
    title = "That push address will not do"
    status = 400


@transaction.atomic
def add_push_address(
    *, endpoint: str, phone_key: str, auth_secret: str, label: str, by: User, now: dt.datetime
) -> tuple[PushAddress, bool]:
    """Note where this person's phone takes pushes. Returns (address, new?); the same again changes its keys.

    A browser has one address, whoever uses it: noted by another person, it is theirs from then on.
    Raises NoPush, BadPushAddress, TooManyPushAddresses.
    """
    if not settings.WEB_PUSH_KEY:
        raise NoPush(f"This service sends no pushes. {told_otherwise(by)}")
    _refuse_bad(endpoint, phone_key, auth_secret)
    locked(User.objects, pk=by.pk)
    PushAddress.objects.filter(endpoint=endpoint).exclude(user=by).delete()
    others = PushAddress.objects.filter(user=by).exclude(endpoint=endpoint)
    if others.count() >= MOST:
        raise TooManyPushAddresses(f"You have {MOST} phones here already. Drop one that you no longer use.")
    address, made = PushAddress.objects.update_or_create(
        endpoint=endpoint,
        defaults={"user": by, "public_key": phone_key, "auth_secret": auth_secret, "label": label},
        create_defaults={
            "user": by, "public_key": phone_key, "auth_secret": auth_secret, "label": label, "made_at": now,
        },
    )  # fmt: skip
    record("add push address", address, by=by, now=now, fishery=None, after={"host": address.host})
    return address, made


def _refuse_bad(endpoint: str, phone_key: str, auth_secret: str) -> None:
    try:
        check_open(endpoint)
    except NotFetched as fault:
        raise BadPushAddress(str(fault), errors={"endpoint": [str(fault)]}) from None
    try:
        push.check_keys(phone_key, auth_secret)
    except ValueError:
        sentence = "These are not a browser's keys. Send what PushSubscription.toJSON() gives, as it is."
        raise BadPushAddress(sentence, errors={"keys": [sentence]}) from None


@transaction.atomic
def drop_push_address(address: PushAddress, *, by: User, now: dt.datetime) -> None:
    """Push no more to this phone. Raises Http404 for anybody else's."""
    if address.user_id != by.pk:
        raise Http404
    _forget(address, by=by, now=now)


@transaction.atomic
def forget_push_address(recipient: str, *, now: dt.datetime) -> None:
    """The push service says that it is gone: nothing is sent there again."""
    if address := PushAddress.of(recipient):
        _forget(address, by=None, now=now)


def _forget(address: PushAddress, *, by: User | None, now: dt.datetime) -> None:
    record("drop push address", address, by=by, now=now, fishery=None, before={"host": address.host})
    address.delete()
