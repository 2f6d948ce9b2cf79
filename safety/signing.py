"""Signatures on what the gateway is told and tells, by the Standard Webhooks specification. Pure.

One message may carry several signatures, and several secrets may be good, while one is being changed.
"""

import base64
import binascii
import datetime as dt
from collections.abc import Iterable, Mapping

from beats.shared import signing
from beats.shared.refusals import Refusal

ID, TIMESTAMP, SIGNATURE = "webhook-id", "webhook-timestamp", "webhook-signature"
SHORTEST = 24
"""Bytes of a secret, at least: so the specification asks."""
LONGEST_ID = 120


class NotSigned(Refusal):
    """A message whose signature, time or number does not hold."""

    code = "not-signed"
    title = "Signature does not hold"
    status = 401


def checked(secret: str) -> str:
    """The secret itself. Raises ValueError when it is none, or too short to guard anything."""
    try:
        key = base64.b64decode(secret.removeprefix(signing.MARK), validate=True)
    except binascii.Error:
        raise ValueError("A signing secret is whsec_ and base64.") from None
    if len(key) < SHORTEST:
        raise ValueError(f"A signing secret has at least {SHORTEST} bytes.")
    return secret


def headers(secret: str, *, message_id: str, at: dt.datetime, body: bytes) -> dict[str, str]:
    """The three headers of one message."""
    at_s = int(at.timestamp())
    signature = signing.sign(checked(secret), message_id=message_id, at_s=at_s, body=body)
    return {ID: message_id, TIMESTAMP: str(at_s), SIGNATURE: signature}


def verified(secrets: Iterable[str], *, given: Mapping[str, str], body: bytes, now: dt.datetime) -> str:
    """The id of a message that one of the secrets signed within five minutes of `now`. Raises NotSigned."""
    message_id, stamp, signature = (given.get(name, "") for name in (ID, TIMESTAMP, SIGNATURE))
    if len(message_id) > LONGEST_ID:
        raise NotSigned(f"A webhook-id has up to {LONGEST_ID} plain characters.")
    fault = "No secret is shared with us. Set one on both sides."
    for secret in secrets:
        try:
            return signing.verify(
                checked(secret), message_id=message_id, timestamp=stamp, signature=signature, body=body,
                now_s=int(now.timestamp()),
            )  # fmt: skip
        except signing.BadSignature as refusal:
            fault = str(refusal)
    raise NotSigned(fault)
