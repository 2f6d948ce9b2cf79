"""What a keeper enters for an angler, beyond the angler's own check-in, check-out and more time."""

import datetime as dt
from typing import Any

from django.db import transaction

from beats.models import Fishery, Membership, User
from beats.queries import require_role
from beats.shared.once import Once, made_earlier
from beats.shared.phrases import say
from beats.shared.refusals import Stale
from bookings.services.guests import add_guest
from sessions.models import Outing
from sessions.services.entries import Report
from sessions.services.outings import check_in, extend


@transaction.atomic
def extend_as_read(
    outing: Outing, *, due_back_at: dt.datetime, number: int, report: Report, by: User, now: dt.datetime
) -> Outing:
    """A new time off the water, asked for while deadline `number` held. Raises Stale, and what `extend` raises.

    Sent again it changes nothing; where another time was set meanwhile it may shorten that, never lengthen it.
    """
    if outing.due_back_at == due_back_at:
        return outing
    if outing.deadline_number != number and due_back_at > outing.due_back_at:
        raise Stale(say("Somebody set another time since you opened this page. Look at it, then choose again."))
    return extend(outing, due_back_at=due_back_at, report=report, by=by, now=now)


@transaction.atomic
def check_in_newcomer(
    fishery: Fishery, *, name: str, phone: str, by: User, now: dt.datetime, once: Once, **asked: Any
) -> tuple[Outing, bool]:
    """Enter somebody who is not in the guest list and check them in, both or neither. Returns (outing, new?).

    Raises what `add_guest` and `check_in` raise.
    """
    require_role(by, fishery, *Membership.KEEPERS)
    if earlier := made_earlier(Outing, by=by, once=once):
        return earlier, False
    facts = {"name": name.strip(), "phone": phone.strip()}
    guest, _ = add_guest(fishery, facts=facts, by=by, now=now, once=once)
    return check_in(guest, by=by, now=now, once=once, **asked)
