"""Signatures of webhooks, by the Standard Webhooks specification: HMAC-SHA256 over `id.timestamp.body`.

Pure. A secret is written `whsec_` and base64; a header may carry several signatures while a secret is
being changed. github.com/standard-webhooks/standard-webhooks, spec/standard-webhooks.md.
"""

import base64
import binascii
import datetime as dt
import hashlib
import hmac
from collections.abc import Iterable, Mapping

from beats.shared.refusals import Refusal

PREFIX = "whsec_"
TOLERANCE = dt.timedelta(minutes=5)
ID, TIMESTAMP, SIGNATURE = "webhook-id", "webhook-timestamp", "webhook-signature"
SHORTEST = 24
"""Bytes of a secret, at least: so the specification asks."""


class NotSigned(Refusal):
    """A message whose signature, time or number does not hold."""

    code = "not-signed"
    title = "Signature does not hold"
    status = 401


def key_of(secret: str) -> bytes:
    """The bytes of a secret. Raises ValueError when it is not one, or is too short to guard anything."""
    try:
        key = base64.b64decode(secret.removeprefix(PREFIX), validate=True)
    except binascii.Error:
        raise ValueError("a signing secret is whsec_ and base64") from None
    if len(key) < SHORTEST:
        raise ValueError(f"a signing secret has at least {SHORTEST} bytes")
    return key


def sign(secret: str, *, message_id: str, at: dt.datetime, body: bytes) -> str:
    """The signature header of one message."""
    signed = f"{message_id}.{int(at.timestamp())}.".encode() + body
    digest = hmac.new(key_of(secret), signed, hashlib.sha256).digest()
    return f"v1,{base64.b64encode(digest).decode()}"


def headers(secret: str, *, message_id: str, at: dt.datetime, body: bytes) -> dict[str, str]:
    """The three headers of one message."""
    signature = sign(secret, message_id=message_id, at=at, body=body)
    return {ID: message_id, TIMESTAMP: str(int(at.timestamp())), SIGNATURE: signature}


def verified(secrets: Iterable[str], *, given: Mapping[str, str], body: bytes, now: dt.datetime) -> str:
    """The id of a message that one of the secrets signed within five minutes of `now`. Raises NotSigned."""
    message_id, stamp, signatures = (given.get(name, "") for name in (ID, TIMESTAMP, SIGNATURE))
    if not (message_id and len(message_id) <= 120 and message_id.isascii() and message_id.isprintable()):
        raise NotSigned("Send webhook-id, webhook-timestamp and webhook-signature.")
    if not (stamp.isascii() and stamp.isdigit() and len(stamp) <= 12):
        raise NotSigned("webhook-timestamp is in whole seconds since 1970.")
    try:
        at = dt.datetime.fromtimestamp(int(stamp), dt.UTC)
    except (ValueError, OverflowError, OSError):
        raise NotSigned("webhook-timestamp is no time of this age.") from None
    if abs(now - at) > TOLERANCE:
        raise NotSigned("The message was signed more than five minutes from now. Check both clocks and sign anew.")
    good = [sign(secret, message_id=message_id, at=at, body=body) for secret in secrets]
    sent = signatures.split(" ")
    if not any(hmac.compare_digest(ours.encode(), theirs.encode()) for ours in good for theirs in sent):
        raise NotSigned("The signature is not one of ours. Check the shared secret.")
    return message_id
