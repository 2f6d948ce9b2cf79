"""How often something may be tried: counted in the database, in one statement, so that no two tries are one."""

import datetime as dt
import hashlib

from django.db import connection
from django.db.models import F

from beats.models import Spent
from beats.shared.phrases import say
from beats.shared.refusals import Refusal

SPEND = """INSERT INTO beats_spent (key, since, times) VALUES (%s, %s, 1)
ON CONFLICT (key) DO UPDATE SET
  times = CASE WHEN beats_spent.since <= %s THEN 1 ELSE beats_spent.times + 1 END,
  since = CASE WHEN beats_spent.since <= %s THEN excluded.since ELSE beats_spent.since END
RETURNING times"""


class TooOften(Refusal):
    """More tries than are allowed in a while."""

    code = "too-often"
    title = say("Too often")
    status = 429


def spend(what: str, whose: str, *, allowed: int, each: dt.timedelta, now: dt.datetime) -> None:
    """Count one try of `what` by `whose`; raises TooOften past `allowed` in a span of `each`."""
    if counted(what, whose, each=each, now=now) > allowed:
        minutes = max(1, round(each.total_seconds() / 60))
        raise TooOften(
            say(
                "That was tried {allowed} times in {minutes} minutes. Wait a while, then try again.",
                allowed=allowed,
                minutes=minutes,
            )
        )


def counted(what: str, whose: str, *, each: dt.timedelta, now: dt.datetime) -> int:
    """Count one try of `what` by `whose`. Returns how many there were in this span of `each`.

    The span begins with the first try. Neither is kept in plain: the row's key is a digest of both.
    """
    key = _key(what, whose)
    adapt = connection.ops.adapt_datetimefield_value
    at, stale = adapt(now), adapt(now - each)
    with connection.cursor() as cursor:
        cursor.execute(SPEND, [key, at, stale, stale])
        (times,) = cursor.fetchone()
    return times


def running(what: str, whose: str, *, each: dt.timedelta, now: dt.datetime) -> int:
    """How many tries of `what` by `whose` are counted in the span of `each` that runs at `now`. Counts nothing."""
    row = Spent.objects.filter(key=_key(what, whose), since__gt=now - each).first()
    return row.times if row else 0


def give_back(what: str, whose: str) -> None:
    """Take back one counted try: it was none that the limit is for."""
    Spent.objects.filter(key=_key(what, whose), times__gt=0).update(times=F("times") - 1)


def _key(what: str, whose: str) -> str:
    return hashlib.sha256(f"{what}\n{whose}".encode()).hexdigest()
