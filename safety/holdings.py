"""What the watch holds about a guest: alarms, the messages about them and to them, and where they take pushes."""

import datetime as dt
from typing import Any

from django.db.models import Q, QuerySet

from beats.models import User
from bookings.about_me import Holding, forget_with_account, hold
from bookings.models import Guest
from safety.models import Alarm, AnglerMessage, Delivery, PushAddress


def _alarms(guest: Guest) -> list[dict[str, Any]]:
    rows = Alarm.objects.filter(outing__guest=guest).order_by("raised_at")
    return [
        {"raised_at": row.raised_at.isoformat(), "due_back_at": row.due_back_at.isoformat(), "words": row.words,
         "closed_note": row.closed_note}
        for row in rows
    ]  # fmt: skip


def _forget_alarms(guest: Guest, _now: dt.datetime) -> None:
    """That there was an alarm stays; what they wrote, and what was written of them, goes."""
    Alarm.objects.filter(outing__guest=guest).update(words="", closed_note="")


def _texts(guest: Guest) -> list[dict[str, Any]]:
    rows = AnglerMessage.objects.filter(guest=guest).order_by("received_at", "id")
    return [{"received_at": row.received_at.isoformat(), "text": row.text, "outcome": row.outcome} for row in rows]


def _forget_texts(guest: Guest, _now: dt.datetime) -> None:
    """That a text came, and when, stays with the outing; its words and its number go."""
    AnglerMessage.objects.filter(guest=guest).update(text="(forgotten)", sender="")


def _said(guest: Guest) -> QuerySet[Delivery]:
    """Alarms about them, and reminders and recalls to them."""
    texts = AnglerMessage.objects.filter(guest=guest).values("pk")
    of_texts = Q(about=Delivery.About.MESSAGE, turn__in=texts)
    return Delivery.objects.filter(Q(alarm__outing__guest=guest) | Q(outing__guest=guest) | of_texts)


def _messages(guest: Guest) -> list[dict[str, Any]]:
    """What was said of them; not to whom, since those are other people."""
    rows = _said(guest).order_by("written_at").distinct()
    return [{"written_at": row.written_at.isoformat(), "subject": row.subject, "body": row.body} for row in rows]


def _forget_messages(guest: Guest, _now: dt.datetime) -> None:
    """That an alarm was told, and to which keepers, stays; what it said of the person goes, and their numbers."""
    said = Delivery.objects.filter(pk__in=list(_said(guest).values_list("pk", flat=True)))
    said.update(subject="(forgotten)", body="(forgotten)", last_fault="")
    for person in (f"guest:{guest.pk}", f"contact:{guest.pk}"):
        # A push address is named by a number alone, and several may be one person's.
        said.filter(person=person).exclude(channel=Delivery.Channel.PUSH).update(recipient=f"(forgotten {person})")


def _push_addresses(guest: Guest) -> list[dict[str, Any]]:
    """Where the person's account takes pushes; not the address itself, which is a secret of that phone."""
    rows = PushAddress.objects.filter(user=guest.user_id).order_by("made_at")
    return [{"label": row.label, "host": row.host, "made_at": row.made_at.isoformat()} for row in rows]


def _forget_push_addresses(user: User) -> None:
    PushAddress.objects.filter(user=user).delete()


hold(Holding("alarms", _alarms, _forget_alarms))
hold(Holding("text_messages", _texts, _forget_texts))
hold(Holding("alarm_messages", _messages, _forget_messages))
hold(Holding("push_addresses", _push_addresses, of_account=True))
forget_with_account(_forget_push_addresses)
