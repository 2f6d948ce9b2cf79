"""Before due back, the angler is reminded, with one tap for half an hour more."""

import datetime as dt

from django.db import transaction

from beats.shared.rows import locked_unless_busy
from safety import wording
from safety.models import Delivery
from safety.services import writing
from safety.services.people import policy_of
from sessions.models import Outing


@transaction.atomic
def remind(outing_id: int, *, now: dt.datetime) -> bool:
    """One reminder a deadline, unless that time has passed: then the alarm says more."""
    related = Outing.objects.select_related("guest", "beat__fishery", "pool")
    outing = locked_unless_busy(related, pk=outing_id, checked_out_at__isnull=True, warn_at__lte=now)
    if outing is None:
        return False
    if now < outing.due_back_at:
        missing = writing.missing(outing, number=0, due_back_at=outing.due_back_at)
        words = wording.reminder(missing, code=outing.code, alarm_at=outing.alarm_at)
        rows = writing.angler_messages(
            outing, words, about=Delivery.About.REMINDER, turn=outing.deadline_number, now=now,
            wait_s=policy_of(outing.beat).receipt_seconds,
        )  # fmt: skip
        Delivery.objects.bulk_create([row for row in rows if row.channel != Delivery.Channel.VOICE])
    outing.warn_at = None
    outing.save(update_fields=["warn_at"])
    return True
