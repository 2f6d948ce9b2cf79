"""Reminding the owner that a return is due: asked anew each time, so nothing is lost by a broker emptied."""

import datetime as dt
import logging

from django.core.mail import send_mail
from django.db.models import Exists, OuterRef, Q, QuerySet

from beats.models import Membership
from beats.queries import local_day
from beats.shared import words
from sessions.models import Return, ReturnDue

LEASE = dt.timedelta(minutes=10)
log = logging.getLogger("rodtally.reminders")


def remind(*, now: dt.datetime) -> int:
    """Write to the owners of every unsigned return that is due soon. Returns how many returns.

    A reminder goes out once; once more only if the sender dies between sending and noting it. A mailbox that
    refuses it hinders no other: the return is tried again until one owner has the reminder.
    """
    return sum(_remind_of(due, now) for due in _waiting(now))


def _waiting(now: dt.datetime) -> QuerySet[ReturnDue]:
    signed = Return.objects.filter(fishery=OuterRef("fishery"), season=OuterRef("season"))
    free = Q(leased_until__isnull=True) | Q(leased_until__lte=now)
    return ReturnDue.objects.filter(~Exists(signed), free, reminded_at__isnull=True).select_related("fishery")


def _remind_of(due: ReturnDue, now: dt.datetime) -> bool:
    if local_day(due.fishery, now) < due.due_on - dt.timedelta(days=due.remind_days):
        return False
    if not _waiting(now).filter(pk=due.pk).update(leased_until=now + LEASE):
        return False  # another sender has it
    owners = Membership.objects.filter(fishery=due.fishery, role=Membership.Role.OWNER, user__is_active=True)
    sent = [_sent(due, address) for address in sorted(owners.values_list("user__email", flat=True))]
    if not any(sent):
        log.warning("no owner of fishery %s has the reminder of the return for %s", due.fishery_id, due.season)
        return False
    ReturnDue.objects.filter(pk=due.pk).update(reminded_at=now, leased_until=None)
    return True


def _sent(due: ReturnDue, address: str) -> bool:
    """By itself, so that owners do not read each other's address and one fault stays with one letter."""
    try:
        send_mail(*letter(due), None, [address])
    except Exception:  # whatever a mail server or its library makes of one address
        log.exception("a reminder of return %s was not sent", due.pk)
        return False
    return True


def letter(due: ReturnDue) -> tuple[str, str]:
    """Subject and text."""
    fishery, season = due.fishery, due.season
    when = words.day(due.due_on)
    text = (
        f"The catch return of {fishery.name} for {season} is not signed. By your own setting it is due on "
        f"{when}.\n\nLook through the review list, then sign. A season without fish or fishing wants a nil "
        "return all the same.\nThe law can fine the holder of a fishery for no return or a false one.\n"
    )
    return f"{fishery.name}: the return for {season} is due on {when}", text
