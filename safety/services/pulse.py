"""Proof that a loop is alive."""

import datetime as dt

from django.db import connection

from safety.models import Pulse

BEAT = "UPDATE safety_pulse SET beaten_at = %s WHERE beaten_at < %s AND name IN ({})"
"""By hand: an idle sweep asks one question and writes this, every few seconds."""


def beat_pulse(*names: str, now: dt.datetime) -> None:
    """Note that these loops finished a round; an older clock never sets one back."""
    at, hold = connection.ops.adapt_datetimefield_value(now), ", ".join(["%s"] * len(names))
    with connection.cursor() as cursor:
        cursor.execute(BEAT.format(hold), [at, at, *names])
        known = cursor.rowcount == len(names)
    for name in () if known else names:
        Pulse.objects.get_or_create(name=name, defaults={"beaten_at": now})


def turn_has_come(name: str, *, every: dt.timedelta, now: dt.datetime) -> bool:
    """Whether it is this caller's turn at something done once in a while by whoever comes first."""
    _, made = Pulse.objects.get_or_create(name=name, defaults={"beaten_at": now})
    return made or Pulse.objects.filter(name=name, beaten_at__lte=now - every).update(beaten_at=now) == 1
