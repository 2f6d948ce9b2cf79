"""A keeper closes a call for help, saying what was found."""

import datetime as dt

from django.db import transaction

from beats.audit import record
from beats.models import Membership, User
from beats.queries import require_role
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from safety.models import Alarm
from safety.queries import same_occasion
from safety.services.answering import AlarmOver
from safety.services.sweep import clear_alarm
from sessions.models import Outing


class NotClosedByHand(Refusal):
    """Only a call for help is closed by a keeper's decision."""

    code = "not-closed-by-hand"
    title = say("Not closed by hand")


class ReasonNeeded(Refusal):
    """A call for help is not closed without saying what was found."""

    code = "reason-needed"
    title = say("Say what was found")
    status = 400


@transaction.atomic
def close_help(alarm: Alarm, *, note: str, by: User, now: dt.datetime) -> Alarm:
    """End a call for help; everybody who was told of it gets the all-clear.

    Raises NotYours, NotClosedByHand for any other kind of alarm, ReasonNeeded, AlarmOver.
    """
    fishery = alarm.outing.beat.fishery
    require_role(by, fishery, *Membership.KEEPERS)
    if alarm.kind != Alarm.Kind.HELP:
        raise NotClosedByHand(
            say("This alarm ends when they are off the water or are heard from. Check them out when they are.")
        )
    if not note.strip():
        raise ReasonNeeded(
            say("Say whom you spoke to, or what you found."), errors={"note": [say("Say what was found.")]}
        )
    locked(Outing.objects, pk=alarm.outing_id)
    open_stages = list(same_occasion(alarm).filter(cleared_at__isnull=True).values_list("pk", flat=True))
    if not open_stages:
        raise AlarmOver(say("This call for help is closed already."))
    Alarm.objects.filter(pk__in=open_stages).update(closed_at=now, closed_by=by, closed_note=note.strip()[:300])
    record("close call for help", alarm, by=by, now=now, fishery=fishery, after={"occasion": alarm.occasion})
    for pk in open_stages:
        clear_alarm(pk, now=now)
    alarm.refresh_from_db()
    return alarm
