"""Who expects an angler off the water, and when."""

import datetime as dt

from django.db import transaction

from beats.audit import record
from beats.models import User
from sessions.models import Outing
from sessions.services.outings import open_outing_row, require_own


@transaction.atomic
def set_meeting(outing: Outing, *, person: str, at: dt.datetime | None, by: User, now: dt.datetime) -> Outing:
    """Note who expects an angler off the water, and when. The same again changes nothing. Raises AlreadyBack.

    It moves no deadline: it is for whoever looks for them.
    """
    require_own(outing.guest, by)
    outing = open_outing_row(outing)
    if (outing.meeting_person, outing.meeting_at) == (person, at):
        return outing
    outing.meeting_person, outing.meeting_at = person, at
    outing.save(update_fields=["meeting_person", "meeting_at"])
    # Who it is stays out of the trail: it names a person outside the fishery.
    record("set meeting", outing, by=by, now=now, fishery=outing.beat.fishery, after={"meeting_at": at})
    return outing
