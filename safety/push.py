"""Web push: a message sealed for one phone, and the sender's signature. Pure.

The phone's push service carries what it cannot read. Sealing: RFC 8291 with the content coding aes128gcm
of RFC 8188. Signing (VAPID): RFC 8292; the token is for the service's origin and good for half of the day
that the RFC allows. How long to keep a message and how urgent it is: RFC 8030, 5.2 and 5.3.
"""

import base64
import datetime as dt
import json
from collections.abc import Mapping
from typing import Any
from urllib.parse import urlsplit

import http_ece
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat
from py_vapid import Vapid02

CURVE = ec.SECP256R1()
MOST_BYTES = 3993
"""Of a message before it is sealed: RFC 8291, 4: a push service need not take more than 4096 sealed."""
TOKEN_FOR = dt.timedelta(hours=12)


def private_key(text: str) -> ec.EllipticCurvePrivateKey:
    """The service's own key from its 32 bytes. Raises ValueError."""
    raw = _bytes(text)
    if len(raw) != 32:
        raise ValueError("A push key is 32 bytes in base64url.")
    return ec.derive_private_key(int.from_bytes(raw, "big"), CURVE)


def public_key(text: str) -> str:
    """What a page subscribes with: the public half, as an uncompressed point in base64url."""
    return _text(private_key(text).public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint))


def check_keys(phone_key: str, auth_secret: str) -> None:
    """Raises ValueError unless the two keys of a subscription can be sealed for."""
    _point(phone_key)
    if len(_bytes(auth_secret)) != 16:
        raise ValueError("auth is 16 bytes in base64url.")


def sealed(
    plain: bytes, *, phone_key: str, auth_secret: str, salt: bytes | None = None,
    sender: ec.EllipticCurvePrivateKey | None = None,
) -> bytes:  # fmt: skip
    """The message as only that phone can read it. Salt and sender are made anew unless a test gives them."""
    made: bytes = http_ece.encrypt(
        plain, salt=salt, private_key=sender or ec.generate_private_key(CURVE), dh=_point(phone_key),
        auth_secret=_bytes(auth_secret), version="aes128gcm",
    )  # fmt: skip
    return made


def headers(key: str, endpoint: str, *, contact: str, at: dt.datetime, ttl_s: int, urgency: str) -> dict[str, str]:
    """What goes with a sealed message. `contact` is whom the push service may ask: mailto: or https:."""
    parts = urlsplit(endpoint)
    claims = {
        "aud": f"{parts.scheme}://{parts.netloc}",
        "exp": int((at + TOKEN_FOR).timestamp()),
        "sub": contact,
    }
    signed: dict[str, str] = Vapid02(private_key(key)).sign(claims)
    return signed | {
        "Content-Type": "application/octet-stream", "Content-Encoding": "aes128gcm", "TTL": str(ttl_s),
        "Urgency": urgency,
    }  # fmt: skip


def payload(title: str, body: str, facts: Mapping[str, Any]) -> bytes:
    """JSON for the page's worker; a body too long is cut, since the push service would refuse all of it."""
    cut = body
    while len(made := _json({"title": title, "body": cut, **facts})) > MOST_BYTES and cut:
        cut = cut[: len(cut) * 9 // 10].rstrip() + "…" if len(cut) > 20 else ""
    return made


def _json(facts: Mapping[str, Any]) -> bytes:
    return json.dumps(facts, ensure_ascii=False, separators=(",", ":")).encode()


def _point(phone_key: str) -> ec.EllipticCurvePublicKey:
    raw = _bytes(phone_key)
    if len(raw) != 65:
        raise ValueError("p256dh is an uncompressed point of P-256, 65 bytes in base64url.")
    return ec.EllipticCurvePublicKey.from_encoded_point(CURVE, raw)


def _bytes(text: str) -> bytes:
    """From base64url, with its padding or without."""
    plain = text.rstrip("=")
    return base64.b64decode(plain + "=" * (-len(plain) % 4), altchars=b"-_", validate=True)


def _text(raw: bytes) -> str:
    return base64.urlsafe_b64encode(raw).rstrip(b"=").decode()
