"""Proof that a loop is alive."""

import datetime as dt

from safety.models import Pulse


def beat_pulse(name: str, *, now: dt.datetime) -> None:
    """Note that a loop finished a round; an older clock never sets it back."""
    if not Pulse.objects.filter(name=name, beaten_at__lt=now).update(beaten_at=now):
        Pulse.objects.get_or_create(name=name, defaults={"beaten_at": now})


def turn_has_come(name: str, *, every: dt.timedelta, now: dt.datetime) -> bool:
    """Whether it is this caller's turn at something done once in a while by whoever comes first."""
    _, made = Pulse.objects.get_or_create(name=name, defaults={"beaten_at": now})
    return made or Pulse.objects.filter(name=name, beaten_at__lte=now - every).update(beaten_at=now) == 1
