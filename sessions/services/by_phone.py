"""What a guest says by phone, perhaps from a store that waited hours for signal.

Each word comes with a key of its own and its age. It acts once, it never lengthens what was set after it was
said, and the word that somebody is back closes their outing though it overtook the check-in.
"""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from beats.models import User
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from bookings.models import Guest
from sessions.models import Outing, PhoneNote
from sessions.queries import open_outing
from sessions.services.outings import check_out, extend, require_own, say_fine

OLDEST = dt.timedelta(days=7)
AT_ONCE = dt.timedelta(minutes=2)
"""Younger than this a word was not kept: it took so long to tap and to travel."""


class NotOut(Refusal):
    """There is no outing to speak of."""

    code = "not-out"
    title = say("Not checked in")


@dataclass(frozen=True)
class Said:
    """A key that is the word's own, the phone's clock, and seconds since."""

    key: str
    said_at: dt.datetime | None = None
    age_s: float = 0.0

    def happened_at(self, now: dt.datetime) -> dt.datetime:
        return now - min(dt.timedelta(seconds=max(self.age_s, 0.0)), OLDEST)

    def kept_since(self, now: dt.datetime) -> dt.datetime | None:
        """When it was said, if it had to wait for signal."""
        at = self.happened_at(now)
        return at if now - at > AT_ONCE else None


@transaction.atomic
def back_by_phone(guest: Guest, said: Said, *, by: User, now: dt.datetime) -> Outing | None:
    """They are out of the water. Closes the outing they were on when they said so; None where there is none.

    A word from before the outing began is about an earlier one, and leaves this one watched.
    """
    require_own(guest, by)
    outing = open_outing(guest)
    if outing is not None and outing.checked_in_at > said.happened_at(now) + AT_ONCE:
        outing = None
    note, fresh = _noted(guest, PhoneNote.Act.OUT, said, outing, now=now)
    if not fresh or outing is None:
        return note.outing
    return check_out(outing, by=by, now=now)


@transaction.atomic
def fine_by_phone(guest: Guest, said: Said, *, by: User, now: dt.datetime) -> Outing:
    """All was well when they said so: the next contact is reckoned from then. Raises NotOut."""
    require_own(guest, by)
    outing = _need(guest)
    note, fresh = _noted(guest, PhoneNote.Act.FINE, said, outing, now=now)
    if not fresh or note.happened_at < outing.checked_in_at - AT_ONCE:
        return outing
    return say_fine(outing, by=by, now=now, heard_at=note.happened_at if said.kept_since(now) else None)


@transaction.atomic
def late_by_phone(
    guest: Guest, said: Said, *, due_back_at: dt.datetime, number: int, by: User, now: dt.datetime
) -> Outing:
    """A new time back, asked for while deadline `number` held. Raises NotOut, BadDueBack.

    Where another time was set meanwhile, this one may shorten it and never lengthens it.
    """
    require_own(guest, by)
    outing = _need(guest)
    _, fresh = _noted(guest, PhoneNote.Act.LATE, said, outing, now=now)
    overtaken = outing.deadline_number != number and due_back_at >= outing.due_back_at
    if not fresh or overtaken:
        return outing
    return extend(outing, due_back_at=due_back_at, by=by, now=now)


def _need(guest: Guest) -> Outing:
    outing = open_outing(guest)
    if outing is None:
        raise NotOut(say("You are not checked in, so nobody is watching for you. Check in, or ring the fishery."))
    return outing


def _noted(
    guest: Guest, act: str, said: Said, outing: Outing | None, *, now: dt.datetime
) -> tuple[PhoneNote, bool]:
    facts = {
        "act": act, "said_at": said.said_at, "age_s": max(said.age_s, 0.0), "received_at": now,
        "happened_at": said.happened_at(now), "outing": outing,
    }  # fmt: skip
    return PhoneNote.objects.get_or_create(guest=guest, key=said.key, defaults=facts)
