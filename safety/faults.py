"""What a failed attempt says: is it this address, or the channel? Pure.

SMTP: RFC 5321, 4.2.1 (5yz is permanent, 4yz may pass) and RFC 3463 (X.1 and X.2 are about an address, X.7 is
policy, as when a server does not relay for us). HTTP: RFC 9110, 15.5.
"""

import smtplib
from enum import StrEnum

from beats.outbound import NotFetched, NotTaken


class Kind(StrEnum):
    """As `Delivery.Fault`."""

    ADDRESS = "address"
    SERVER = "server"
    CHANNEL = "channel"


MAY_PASS = (401, 403, 408, 409, 425, 429)
"""HTTP errors of the 4xx range that are not about the message: credentials, time-outs, too many requests."""
NOT_LET_IN = (401, 403)
OUT_OF_REACH = (
    smtplib.SMTPAuthenticationError, smtplib.SMTPConnectError, smtplib.SMTPHeloError, smtplib.SMTPSenderRefused,
    smtplib.SMTPServerDisconnected, smtplib.SMTPNotSupportedError,
)  # fmt: skip


def kind_of(error: Exception) -> Kind:
    """Whether the address, the server's answer, or the way to the server failed. In doubt: the server."""
    if isinstance(error, NotTaken):
        return _http(error.status)
    if isinstance(error, smtplib.SMTPRecipientsRefused):
        refused = all(_no_such_mailbox(*answer) for answer in error.recipients.values())
        return Kind.ADDRESS if refused else Kind.SERVER
    if isinstance(error, OUT_OF_REACH):
        return Kind.CHANNEL
    if isinstance(error, smtplib.SMTPException):
        return Kind.SERVER
    return Kind.CHANNEL if isinstance(error, NotFetched | OSError) else Kind.SERVER


def is_final(error: Exception) -> bool:
    """Whether the message will never be taken as it is; the others may be put right, or pass."""
    return isinstance(error, NotTaken) and 400 <= error.status < 500 and error.status not in MAY_PASS


def _http(status: int) -> Kind:
    if status in NOT_LET_IN or 300 <= status < 400:
        return Kind.CHANNEL
    return Kind.ADDRESS if 400 <= status < 500 and status not in MAY_PASS else Kind.SERVER


def _no_such_mailbox(code: int, text: bytes | str) -> bool:
    said = text.decode(errors="replace") if isinstance(text, bytes) else text
    return 500 <= code < 600 and not said.startswith("5.7.") and "relay" not in said.casefold()
