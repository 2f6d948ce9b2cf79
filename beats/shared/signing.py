"""Signed messages between programs, by the open standard "Standard Webhooks" 1.0.0.

The text that is signed is id.timestamp.body, with HMAC-SHA256 and the secret's bytes; a header may carry
several signatures, so that a secret can be changed; what is older or newer than five minutes is refused,
and the id tells a repeat.
"""

import base64
import binascii
import hashlib
import hmac
import secrets

MARK = "whsec_"
TOLERANCE_S = 5 * 60
SECRET_BYTES = 32  # the standard asks for 24 to 64
LONGEST_ID = 128


class BadSignature(Exception):
    """The message cannot be taken for the sender's; the text says what is wrong with it."""


def new_secret() -> str:
    return MARK + base64.b64encode(secrets.token_bytes(SECRET_BYTES)).decode()


def sign(secret: str, *, message_id: str, at_s: int, body: bytes) -> str:
    """The webhook-signature header of one message."""
    signed = f"{message_id}.{at_s}.".encode() + body
    digest = hmac.new(_key(secret), signed, hashlib.sha256).digest()
    return f"v1,{base64.b64encode(digest).decode()}"


def verify(
    secret: str, *, message_id: str | None, timestamp: str | None, signature: str | None, body: bytes, now_s: int
) -> str:
    """The id of a message that is really the sender's and of now. Raises BadSignature."""
    if not (message_id and timestamp and signature):
        raise BadSignature("Send webhook-id, webhook-timestamp and webhook-signature.")
    if len(message_id) > LONGEST_ID or not (message_id.isascii() and message_id.isprintable()):
        raise BadSignature(f"A webhook-id has up to {LONGEST_ID} plain characters.")
    if not (timestamp.isascii() and timestamp.isdigit() and len(timestamp) < 12):
        raise BadSignature("webhook-timestamp is seconds since 1970, such as 1614265330.")
    if abs(now_s - int(timestamp)) > TOLERANCE_S:
        raise BadSignature("The message is more than five minutes old or early. Set the clock and sign it anew.")
    expected = sign(secret, message_id=message_id, at_s=int(timestamp), body=body)
    given = signature.encode("utf-8", "replace").split(b" ")
    if not any(hmac.compare_digest(expected.encode(), one) for one in given):
        raise BadSignature("No signature fits the message and the secret.")
    return message_id


def _key(secret: str) -> bytes:
    try:
        return base64.b64decode(secret.removeprefix(MARK), validate=True)
    except binascii.Error:
        raise ValueError("a secret is base64 after whsec_") from None
