"""Where anglers text, and the code by which a guest's own text is known: ON 5512 goes on the water."""

import hashlib
import hmac

from django.conf import settings


def standing_codes(guest_id: int) -> list[str]:
    """Four figures, the same for a guest as long as SECRET_KEY stays; then those of the fallback keys.

    Nothing is stored. A code is of use only together with the guest's own telephone number.
    """
    keys = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    return [_code(key, guest_id) for key in keys]


def standing_code(guest_id: int) -> str:
    """The one to show."""
    return standing_codes(guest_id)[0]


def _code(key: str, guest_id: int) -> str:
    digest = hmac.new(key.encode(), f"text code of guest {guest_id}".encode(), hashlib.sha256).digest()
    return f"{int.from_bytes(digest[:8]) % 9000 + 1000}"


def number_for_texts() -> str:
    """The number at which this installation reads anglers' texts; empty where it reads none."""
    return settings.TEXT_NUMBER if settings.GATEWAY_SECRETS else ""
