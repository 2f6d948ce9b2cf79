"""What is due: the questions a sweep asks, and the one question whether anything may be.

Level, not edge: each asks the tables as they stand, so that it makes no difference how often, by whom
or after how long a pause it is asked. There is no look-back limit.
"""

import datetime as dt

from django.db import connection
from django.db.models import Exists, F, OuterRef, Q, QuerySet

from safety.models import Alarm, Delivery, Drill, RecallCall
from sessions.models import Outing

FIRST_STAGE = 1
Kind = Alarm.Kind


def due_outings(now: dt.datetime) -> QuerySet[Outing]:
    """Open outings past their alarm time without an alarm for their present deadline."""
    noted = Alarm.objects.filter(
        outing=OuterRef("pk"), kind=Kind.OVERDUE, deadline_number=OuterRef("deadline_number"), stage=FIRST_STAGE
    )
    return Outing.objects.filter(~Exists(noted), checked_out_at__isnull=True, alarm_at__lte=now).order_by(
        "alarm_at", "id"
    )


def missed_contacts(now: dt.datetime) -> QuerySet[Outing]:
    """Lone anglers who were to say that all is well, and did not, and were not asked yet."""
    noted = Alarm.objects.filter(outing=OuterRef("pk"), kind=Kind.CONTACT, occasion=OuterRef("contact_number"))
    return Outing.objects.filter(
        ~Exists(noted), checked_out_at__isnull=True, contact_due_at__lte=now
    ).order_by("contact_due_at", "id")  # fmt: skip


def to_remind(now: dt.datetime) -> QuerySet[Outing]:
    """Open outings nearly due whose angler has not been reminded."""
    return Outing.objects.filter(checked_out_at__isnull=True, warn_at__lte=now).order_by("warn_at", "id")


def due_alarms(now: dt.datetime) -> QuerySet[Alarm]:
    """Alarms whose next stage, repeat or promise has come."""
    return Alarm.objects.filter(cleared_at__isnull=True, next_at__lte=now).order_by("next_at", "id")


def over_alarms(now: dt.datetime) -> QuerySet[Alarm]:
    """Alarms not yet cleared whose angler is back, or has been heard from and is due at a time to come.

    While a new time has passed too, nothing reassuring is said. A call for help ends when they are checked out
    after it was made, or when a keeper closes it: a check-out from before is no answer to it.
    """
    # The end of a recall is no word of whoever is silent: they must be heard from, or be out.
    standing = Q(recall__ended_at__isnull=True)
    silent = Q(outing__heard_at__isnull=True) | Q(outing__heard_at__lte=OuterRef("alarm_at"))
    unanswered = RecallCall.objects.filter(
        standing | silent, pk=OuterRef("occasion"), number=OuterRef("deadline_number")
    )
    new_time = Q(kind=Kind.OVERDUE, outing__deadline_number__gt=F("deadline_number"), outing__alarm_at__gt=now)
    well = Q(kind=Kind.CONTACT, outing__contact_number__gt=F("occasion")) & (
        Q(outing__contact_due_at__gt=now) | Q(outing__contact_due_at__isnull=True)
    )
    answered = Q(kind=Kind.RECALL) & ~Exists(unanswered)
    off_the_water = Q(outing__checked_out_at__isnull=False) & (
        ~Q(kind=Kind.HELP) | Q(outing__checked_out_at__gt=F("alarm_at"))
    )
    closed = Q(closed_at__isnull=False)
    over = off_the_water | new_time | well | answered | closed
    return Alarm.objects.filter(over, cleared_at__isnull=True).order_by("id")


def waiting_drills(_now: dt.datetime) -> QuerySet[Drill]:
    """Drills not yet raised, and those whose last message has left without its being noted."""
    gone = (Delivery.State.SENT, Delivery.State.DELIVERED, Delivery.State.NOT_NEEDED)
    to_leave = Delivery.objects.filter(drill=OuterRef("pk")).exclude(state__in=gone)
    to_leave = to_leave.exclude(channel=Delivery.Channel.PUSH)  # one that did not go leaves nobody untold
    return Drill.objects.filter(Q(raised_at__isnull=True) | ~Exists(to_leave), sent_at__isnull=True).order_by("id")


# --- The one question --------------------------------------------------------------------------

MAY_BE_DUE = """SELECT
  (SELECT alarm_at FROM fishing_sessions_outing WHERE checked_out_at IS NULL ORDER BY alarm_at LIMIT 1) <= %s
  OR (SELECT warn_at FROM fishing_sessions_outing WHERE checked_out_at IS NULL AND warn_at IS NOT NULL
    ORDER BY warn_at LIMIT 1) <= %s
  OR (SELECT contact_due_at FROM fishing_sessions_outing WHERE checked_out_at IS NULL
    AND contact_due_at IS NOT NULL ORDER BY contact_due_at LIMIT 1) <= %s
  OR (SELECT out_at FROM fishing_sessions_plan WHERE called_off_at IS NULL AND outing_id IS NULL
    ORDER BY out_at LIMIT 1) <= %s
  OR EXISTS (SELECT 1 FROM safety_alarm WHERE cleared_at IS NULL)
  OR EXISTS (SELECT 1 FROM safety_recall WHERE ended_at IS NULL)
  OR EXISTS (SELECT 1 FROM safety_drill WHERE sent_at IS NULL)"""
"""The first of each partial index: an estimate of how many lie before `now` would lead PostgreSQL to read all
that ever went out."""


def may_be_due(now: dt.datetime) -> bool:
    """Whether anything may be due, in one query. False only when every other question would find nothing."""
    at = connection.ops.adapt_datetimefield_value(now)
    with connection.cursor() as cursor:
        cursor.execute(MAY_BE_DUE, [at] * MAY_BE_DUE.count("%s"))
        return bool(cursor.fetchone()[0])
