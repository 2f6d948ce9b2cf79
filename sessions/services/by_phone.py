"""Check-out, all-well and more time, as a guest enters them on a phone that may have waited hours for signal.

Each entry has a key of its own and its age, and acts once. How entries of different times combine is said in
`offline.py`, which also takes the check-ins.
"""

import datetime as dt
import math
from dataclasses import dataclass

from django.db import transaction

from beats.models import User
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from bookings.models import Guest
from sessions.models import Outing, PhoneNote
from sessions.queries import open_outing
from sessions.services.entries import Report
from sessions.services.offline import (
    OLDEST,
    EnteredBefore,
    check_out_entered,
    earliest_due,
    outing_at,
    settle_check_ins,
    time_unknown,
)
from sessions.services.outings import AT_ONCE, check_out, extend, require_own, say_fine


class NotOut(Refusal):
    """There is no outing to speak of."""

    code = "not-out"
    title = say("Not checked in")


@dataclass(frozen=True)
class Said:
    """A key that is the entry's own, the phone's clock, and seconds since; None where the phone cannot say."""

    key: str
    said_at: dt.datetime | None = None
    age_s: float | None = 0.0

    @property
    def time_known(self) -> bool:
        return self.age_s is not None

    def happened_at(self, now: dt.datetime) -> dt.datetime:
        """When it was entered; `now` where that is not known."""
        return now - dt.timedelta(seconds=self.age_s or 0.0)

    def kept_since(self, now: dt.datetime) -> dt.datetime | None:
        """When it was entered, if it had to wait for signal."""
        at = self.happened_at(now)
        return at if now - at > AT_ONCE else None


def age_of(text: str) -> float | None:
    """Seconds as a phone gives them; "" is 0. None for what cannot be an age: no number, negative, over a week."""
    if not text:
        return 0.0
    try:
        seconds = float(text)
    except ValueError:
        return None
    known = math.isfinite(seconds) and 0 <= seconds <= OLDEST.total_seconds()
    return seconds if known else None


def entry_time(said: Said, now: dt.datetime) -> dt.datetime | None:
    """When a check-in was entered, if it was kept in the phone.

    One whose time is not known was kept, too: it begins now, and is recorded as a late one is.
    """
    return said.kept_since(now) if said.time_known else now - 2 * OLDEST


def check_out_by_keeper(outing: Outing, said: Said, *, report: Report, by: User, now: dt.datetime) -> Outing:
    """A keeper's check-out of one outing, which may have waited in the keeper's phone.

    Raises TimeUnknown where the phone cannot say when it was entered, EnteredBefore, BadReport.
    """
    if not said.time_known:
        raise time_unknown()
    return check_out_entered(outing, said_at=said.kept_since(now), report=report, by=by, now=now)


@transaction.atomic
def back_by_phone(guest: Guest, said: Said, *, by: User, now: dt.datetime) -> Outing | None:
    """They were out of the water when they entered it. Ends the outing of that time; None where there is none.

    One from before the outing began is about an earlier one, and leaves this one watched. Raises TimeUnknown.
    """
    require_own(guest, by)
    locked(Guest.objects, pk=guest.pk)
    if not said.time_known and open_outing(guest) is not None:
        raise time_unknown()
    at = said.happened_at(now)
    outing = outing_at(guest, at)
    note, fresh = _noted(guest, PhoneNote.Act.OUT, said, outing, now=now)
    if not fresh or outing is None:
        return note.outing
    if outing.checked_out_at is None:
        outing = check_out(outing, by=by, now=now, entered_at=at)
    else:
        _ended_earlier(outing, note)
    settle_check_ins(outing, by=by, now=now)
    return outing


def _ended_earlier(outing: Outing, note: PhoneNote) -> None:
    """A later check-out had ended it: this one was first, and the later one is free to end what came between."""
    later = PhoneNote.objects.filter(act=PhoneNote.Act.OUT, outing=outing, happened_at__gt=note.happened_at)
    later.update(outing=None)
    outing.checked_out_at = note.happened_at
    outing.save(update_fields=["checked_out_at"])


@transaction.atomic
def fine_by_phone(guest: Guest, said: Said, *, by: User, now: dt.datetime) -> Outing:
    """All was well when they said so: the next contact is counted from then. Raises NotOut, TimeUnknown."""
    require_own(guest, by)
    outing = _need(guest)
    if not said.time_known:
        raise time_unknown()
    note, fresh = _noted(guest, PhoneNote.Act.FINE, said, outing, now=now)
    if not fresh or (said.kept_since(now) and note.happened_at < outing.checked_in_at):
        return outing
    return say_fine(outing, by=by, now=now, heard_at=note.happened_at if said.kept_since(now) else None)


def late_by_phone(
    guest: Guest, said: Said, *, due_back_at: dt.datetime, number: int, by: User, now: dt.datetime
) -> Outing:
    """A new time back, entered while deadline `number` held.

    Where another time was set meanwhile, this one may shorten it and never lengthens it. It is kept even where
    there is no outing yet: a check-in that arrives later takes an earlier time back from it. Raises NotOut,
    EnteredBefore, TimeUnknown, BadDueBack.
    """
    require_own(guest, by)
    with transaction.atomic():
        locked(Guest.objects, pk=guest.pk)
        outing = open_outing(guest)
        _noted(guest, PhoneNote.Act.LATE, said, outing, now=now, due_back_at=due_back_at)
    if outing is None:
        return _need(guest)
    return _set_time_back(outing, said, due_back_at, number, by=by, now=now)


@transaction.atomic
def _set_time_back(outing, said, due_back_at, number, *, by, now) -> Outing:
    """Not in the transaction of its note: one that is refused still limits what was entered before it."""
    outing.refresh_from_db(fields=["due_back_at", "deadline_number", "checked_in_at"])
    at, earlier = said.happened_at(now), due_back_at < outing.due_back_at
    if not said.time_known and not earlier:
        raise time_unknown()
    if said.kept_since(now) and at < outing.checked_in_at:
        raise EnteredBefore(
            say(
                "This return time was entered before you last checked in, so it was not used. "
                "You are still being watched."
            )
        )
    if not earlier:
        due_back_at = earliest_due(outing.guest, due_back_at, since=at)
        if outing.deadline_number != number or due_back_at <= outing.due_back_at:
            return outing
    entered_at = at if said.kept_since(now) else None
    return extend(outing, due_back_at=due_back_at, by=by, now=now, entered_at=entered_at)


def _need(guest: Guest) -> Outing:
    outing = open_outing(guest)
    if outing is None:
        raise NotOut(say("You are not checked in, so nobody is watching for you. Check in, or ring the fishery."))
    return outing


def _noted(
    guest: Guest, act: str, said: Said, outing: Outing | None, *, now: dt.datetime,
    due_back_at: dt.datetime | None = None,
) -> tuple[PhoneNote, bool]:  # fmt: skip
    facts = {
        "act": act, "said_at": said.said_at, "age_s": said.age_s or 0.0, "received_at": now,
        "happened_at": said.happened_at(now), "outing": outing, "due_back_at": due_back_at,
    }  # fmt: skip
    return PhoneNote.objects.get_or_create(guest=guest, key=said.key, defaults=facts)
