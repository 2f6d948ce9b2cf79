"""Is it this address, or the channel? Reply codes by RFC 5321, 4.2.1, and RFC 3463; HTTP by RFC 9110, 15.5."""

import smtplib
import socket
import ssl

import pytest

from beats.outbound import NotFetched, NotTaken
from safety.faults import Kind, is_final, kind_of


def refused(code, text):
    return smtplib.SMTPRecipientsRefused({"a@example.org": (code, text)})


@pytest.mark.parametrize(
    ("error", "kind"),
    [
        (refused(550, b"5.1.1 no such user"), Kind.ADDRESS),
        (refused(553, b"mailbox name not allowed"), Kind.ADDRESS),
        (refused(552, b"5.2.2 mailbox full"), Kind.ADDRESS),
        (refused(450, b"4.2.0 greylisted, come again"), Kind.SERVER),
        (refused(550, b"5.7.1 Relaying denied"), Kind.SERVER),
        (refused(554, b"Relay access denied"), Kind.SERVER),
        (smtplib.SMTPDataError(554, b"5.6.0 content"), Kind.SERVER),
        (smtplib.SMTPAuthenticationError(535, b"5.7.8 bad credentials"), Kind.CHANNEL),
        (smtplib.SMTPSenderRefused(550, b"5.7.1 not you", "w@example.org"), Kind.CHANNEL),
        (smtplib.SMTPServerDisconnected("gone"), Kind.CHANNEL),
        (smtplib.SMTPConnectError(421, b"busy"), Kind.CHANNEL),
        (ConnectionRefusedError(), Kind.CHANNEL),
        (TimeoutError(), Kind.CHANNEL),
        (socket.gaierror(), Kind.CHANNEL),
        (ssl.SSLError(), Kind.CHANNEL),
        (NotFetched("no address"), Kind.CHANNEL),
        (NotTaken("no", status=400), Kind.ADDRESS),
        (NotTaken("no", status=422), Kind.ADDRESS),
        (NotTaken("no", status=401), Kind.CHANNEL),
        (NotTaken("no", status=302), Kind.CHANNEL),
        (NotTaken("no", status=429), Kind.SERVER),
        (NotTaken("no", status=503), Kind.SERVER),
        (KeyError("a fault of our own"), Kind.SERVER),
    ],
)
def test_what_a_failure_says(error, kind):
    assert kind_of(error) == kind


@pytest.mark.parametrize(("status", "final"), [(400, True), (422, True), (401, False), (429, False), (500, False)])
def test_only_what_the_gateway_will_never_take_is_final(status, final):
    assert is_final(NotTaken("no", status=status)) is final
