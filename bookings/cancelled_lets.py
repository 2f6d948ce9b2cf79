"""Confirmed lets that their bookers cancelled lately, for the owner to see. Reads only."""

import datetime as dt

from beats.audit import subject_of
from beats.models import AuditEntry, Fishery
from bookings.models import Let

SHOWN_FOR = dt.timedelta(days=14)


def cancelled_by_bookers(fishery: Fishery, *, now: dt.datetime) -> list[Let]:
    """Those of the last 14 days, the newest first. Two queries."""
    lets = Let.objects.filter(
        beat__fishery=fishery, status=Let.Status.CANCELLED, confirmed_at__isnull=False,
        cancelled_at__gte=now - SHOWN_FOR, booker__user__isnull=False,
    )  # fmt: skip
    found = {
        subject_of(let): let for let in lets.select_related("beat", "booker").order_by("-cancelled_at", "-pk")
    }
    entries = AuditEntry.objects.filter(subject__in=found, verb="cancel let")
    by = dict(entries.values_list("subject", "by"))
    return [let for subject, let in found.items() if by.get(subject) == let.booker.user_id]
