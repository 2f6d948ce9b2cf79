"""What the watch holds about a guest: alarms, and the messages about them."""

import datetime as dt
from typing import Any

from bookings.about_me import Holding, hold
from bookings.models import Guest
from safety.models import Alarm, Delivery


def _alarms(guest: Guest) -> list[dict[str, Any]]:
    rows = Alarm.objects.filter(outing__guest=guest).order_by("raised_at")
    return [{"raised_at": row.raised_at.isoformat(), "due_back_at": row.due_back_at.isoformat()} for row in rows]


def _messages(guest: Guest) -> list[dict[str, Any]]:
    """What was said of them; not to whom, since those are other people."""
    rows = Delivery.objects.filter(alarm__outing__guest=guest).order_by("written_at").distinct()
    return [{"written_at": row.written_at.isoformat(), "subject": row.subject, "body": row.body} for row in rows]


def _forget_messages(guest: Guest, _now: dt.datetime) -> None:
    """That an alarm was told, and to whom, stays; what it said of the person goes."""
    said = Delivery.objects.filter(alarm__outing__guest=guest)
    said.update(subject="(forgotten)", body="(forgotten)", last_fault="")


hold(Holding("alarms", _alarms))
hold(Holding("alarm_messages", _messages, _forget_messages))
