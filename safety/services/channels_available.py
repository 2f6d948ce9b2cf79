"""Which ways of telling somebody exist in this installation, and which of them reach one person.

Every page, letter and answer that promises a message asks here, so that nothing is promised that cannot be sent.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from django.conf import settings

from beats.models import Membership, User
from beats.shared.phrases import joined, say
from bookings.models import Guest
from bookings.text_codes import number_for_texts
from safety.ladder import By

NOT_SENT = ("console.EmailBackend", "dummy.EmailBackend")
"""Mail backends that send to nobody."""
NAMES = {By.EMAIL: say("by e-mail"), By.TEXT: say("by text message"), By.VOICE: say("by a telephone call")}


@dataclass(frozen=True)
class Channels:
    """What is set up here. `text_in` is the number that takes texts from anglers; empty where none does."""

    email: bool
    gateway: bool
    push: bool
    text_in: str

    @property
    def ways(self) -> frozenset[By]:
        email = {By.EMAIL} if self.email else set()
        return frozenset(email | ({By.TEXT, By.VOICE} if self.gateway else set()))


def channels_available() -> Channels:
    """Read from the settings at each call: a test or an operator may change them."""
    return Channels(
        email=not settings.EMAIL_BACKEND.endswith(NOT_SENT),
        gateway=bool(settings.GATEWAY_URL and settings.GATEWAY_SECRETS),
        push=bool(settings.WEB_PUSH_KEY),
        text_in=number_for_texts(),
    )


def ways_to(*, email: str, phone: str) -> frozenset[By]:
    """The ways that exist here and reach somebody with this address and number; empty texts are not known."""
    has = ({By.EMAIL} if email else set()) | ({By.TEXT, By.VOICE} if phone else set())
    return channels_available().ways & has


def text_number(guest: Guest) -> str:
    """Where this guest may text ON, OFF, LATE, OK or HELP: empty where none is read, or their number is unknown.

    A text is taken for an angler's by the number it comes from.
    """
    return channels_available().text_in if guest.phone else ""


def told_by(ways: Iterable[By]) -> str:
    """How somebody is told: "by e-mail and by text message"; empty where there is no way."""
    names = [NAMES[way] for way in By if way in set(ways) and way is not By.VOICE]
    if not names:
        return ""
    return names[0] if len(names) == 1 else say("{one} and {other}", one=names[0], other=joined(names[1:]))


def told_otherwise(user: User) -> str:
    """How somebody is told apart from pushes, as a sentence: a keeper by their own number, a guest by theirs."""
    guests = Guest.objects.filter(user=user, erased_at=None).exclude(phone="").values_list("phone", flat=True)
    keeps = user.memberships.filter(role__in=Membership.KEEPERS).exists()
    phone = (user.phone if keeps else "") or guests.first() or ""
    ways = told_by(ways_to(email=user.email, phone=phone))
    return say("You are told {ways}.", ways=ways) if ways else say("This service has no other way to reach you.")
