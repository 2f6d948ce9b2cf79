"""POSTs that honour Idempotency-Key, after draft-ietf-httpapi-idempotency-key-header of the IETF.

A POST that creates a row stores the key on that row (`once.py`). Every other POST uses `IdempotentPostMixin`:
the answer is stored in one table, in the same transaction as the effect, so a crash loses both or neither. Of two
calls with one key at the same time the second waits for the first to commit and gets its answer. Only successful
answers are kept, since a refused or failed call changed nothing and may be tried again with the same key.
"""

import base64
import datetime as dt
import functools
import hashlib
import hmac
import json
from collections.abc import Callable
from typing import Any

from cryptography.fernet import Fernet, InvalidToken
from django.conf import settings
from django.db import IntegrityError, transaction
from django.utils import timezone
from rest_framework import exceptions
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response

from beats.models.idempotency import IdempotencyRecord
from beats.shared.once import Once
from beats.shared.phrases import say
from beats.shared.refusals import KeyReused, Refusal

KEPT_FOR = dt.timedelta(hours=48)
"""The draft leaves the time to the server; a phone may be without signal for a day."""
KEPT_HEADERS = ("ETag", "Location")


class AlreadyDone(Refusal):
    """The call succeeded before, and its answer can no longer be read."""

    code = "already-done"
    title = say("Already done")


def once_of(request) -> Once | None:
    """The request's Idempotency-Key, quoted or bare, tied to its path, query and body."""
    key = request.headers.get("Idempotency-Key", "").strip().strip('"')
    if not key:
        return None
    if not (8 <= len(key) <= 80 and key.isascii() and key.isprintable()):
        raise exceptions.ValidationError(
            {"Idempotency-Key": ["Use 8 to 80 plain characters; a fresh UUID is best."]}
        )
    return Once.of(key, [request.method, request.get_full_path(), request.data])


class IdempotentPostMixin:
    """A view whose `post` is run once for each Idempotency-Key; put it before the view's base class.

    A view with `once = True` keeps the key on the row it creates, and is left to do so.
    """

    once = False

    def initial(self, request, *args, **kwargs):
        """After authentication and permissions, before the handler."""
        super().initial(request, *args, **kwargs)
        if request.method == "POST" and not self.once and (once := once_of(request)) is not None:
            self.post = functools.partial(run_once, self.post, caller=caller_of(request), once=once)


def caller_of(request) -> str:
    """Whose key it is: a person's, or that of a machine signed in by a key of its own."""
    machine = getattr(request.user, "key", None)
    return f"key of a gauge:{machine.pk}" if machine is not None else f"user:{request.user.pk}"


def run_once(post: Callable[..., Response], request, *args: Any, caller: str, once: Once, **kwargs) -> Response:
    """`post`'s answer; or that of an earlier call with the same key, which is then not run again.

    Raises KeyReused when the key came with another request, AlreadyDone when the earlier answer cannot be read.
    """
    with transaction.atomic():
        record, created = _claim(caller, once, now=timezone.now())
        if not created:
            return _earlier(record, once)
        response = post(request, *args, **kwargs)
        if response.status_code >= 400:
            record.delete()
            return response
        record.status = response.status_code
        record.answer = _cipher(caller, once.key).encrypt(_written(response)).decode()
        record.save(update_fields=["status", "answer"])
        return response


def _claim(caller: str, once: Once, *, now: dt.datetime) -> tuple[IdempotencyRecord, bool]:
    """The record of this key, and whether it is new. On a key in use elsewhere this waits until that call ends."""
    named = {"caller": caller, "key_digest": hashlib.sha256(once.key.encode()).hexdigest()}
    IdempotencyRecord.objects.filter(**named, created_at__lte=now - KEPT_FOR).delete()
    try:
        with transaction.atomic():
            facts = {"fingerprint": once.fingerprint, "created_at": now}
            return IdempotencyRecord.objects.create(**named, **facts), True
    except IntegrityError:
        return IdempotencyRecord.objects.get(**named), False


def _earlier(record: IdempotencyRecord, once: Once) -> Response:
    if record.fingerprint != once.fingerprint:
        raise KeyReused(
            "This Idempotency-Key was already used for a different request. "
            "Use a new key for a new request; nothing was changed."
        )
    try:
        kept = json.loads(_cipher(record.caller, once.key).decrypt(record.answer.encode()))
    except InvalidToken:  # SECRET_KEY was changed meanwhile
        raise AlreadyDone(
            say("This request succeeded before and was not run again. Read the current state with GET.")
        ) from None
    return Response(kept["data"], status=record.status, headers=kept["headers"])


def _written(response: Response) -> bytes:
    headers = {name: response.headers[name] for name in KEPT_HEADERS if name in response.headers}
    data = json.loads(JSONRenderer().render(response.data) or b"null")
    return json.dumps({"data": data, "headers": headers}).encode()


def _cipher(caller: str, key: str) -> Fernet:
    """Fernet (AES-128-CBC and HMAC-SHA256) under a key that the table alone does not give."""
    text = f"idempotency\n{caller}\n{key}".encode()
    return Fernet(base64.urlsafe_b64encode(hmac.new(settings.SECRET_KEY.encode(), text, hashlib.sha256).digest()))
