"""What the watch holds about a guest: alarms, and the messages about them and to them."""

import datetime as dt
from typing import Any

from django.db.models import Q, QuerySet

from bookings.about_me import Holding, hold
from bookings.models import Guest
from safety.models import Alarm, Delivery


def _alarms(guest: Guest) -> list[dict[str, Any]]:
    rows = Alarm.objects.filter(outing__guest=guest).order_by("raised_at")
    return [{"raised_at": row.raised_at.isoformat(), "due_back_at": row.due_back_at.isoformat()} for row in rows]


def _said(guest: Guest) -> QuerySet[Delivery]:
    """Alarms about them, and reminders and recalls to them."""
    return Delivery.objects.filter(Q(alarm__outing__guest=guest) | Q(outing__guest=guest))


def _messages(guest: Guest) -> list[dict[str, Any]]:
    """What was said of them; not to whom, since those are other people."""
    rows = _said(guest).order_by("written_at").distinct()
    return [{"written_at": row.written_at.isoformat(), "subject": row.subject, "body": row.body} for row in rows]


def _forget_messages(guest: Guest, _now: dt.datetime) -> None:
    """That an alarm was told, and to which keepers, stays; what it said of the person goes, and their numbers."""
    said = Delivery.objects.filter(pk__in=list(_said(guest).values_list("pk", flat=True)))
    said.update(subject="(forgotten)", body="(forgotten)", last_fault="")
    for person in (f"guest:{guest.pk}", f"contact:{guest.pk}"):
        said.filter(person=person).update(recipient=f"(forgotten {person})")


hold(Holding("alarms", _alarms))
hold(Holding("alarm_messages", _messages, _forget_messages))
