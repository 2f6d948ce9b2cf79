"""Telling a guest all that is held about them, forgetting them, and forgetting by and by.

How long: the fishery's terms say it, in months from the last day the guest fished, booked or paid.
Source of the duty: ICO, "Principle (e): Storage limitation" ("You need a policy setting standard
retention periods wherever possible"). The usual periods: seven years for names, because the VAT notice
700/21 asks for six years of records (from memory); two years for the emergency contact and for letters,
house practice, no source.
"""

import datetime as dt
import logging
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet

from beats.audit import record
from beats.models import Fishery, User
from beats.queries import Role, role_in
from beats.shared.phrases import say
from beats.shared.refusals import NotYours
from beats.shared.rows import locked
from bookings.about_me import StillNeeded, holdings
from bookings.models import Guest, HookMessage, Paper
from bookings.reckoning import terms_of
from bookings.services.invitations import close_if_unused, close_unused_accounts

log = logging.getLogger("rodtally.forgetting")
MONTH = dt.timedelta(days=30.4375)
KEEP_MESSAGES = dt.timedelta(days=90)
BATCH = 200
CONTACT = {
    "emergency_contact_name": "", "emergency_contact_phone": "", "emergency_contact_email": "", "needs": "",
}  # fmt: skip


def everything_about(guest: Guest, *, by: User, now: dt.datetime) -> dict[str, Any]:
    """All that the fishery holds, by kind of thing: for the guest, and for the owner who answers for it.

    What is held for the person's own account is told to that person alone.
    """
    _own_or_owner(guest, by)
    own = guest.user_id == by.pk
    held = {holding.name: holding.tell(guest) for holding in holdings() if own or not holding.of_account}
    return {"about": guest.pk, "told_at": now.isoformat()} | {name: rows for name, rows in held.items() if rows}


@transaction.atomic
def erase(guest: Guest, *, by: User | None, now: dt.datetime) -> Guest:
    """Take out all that names the guest; rod-days, fish and money stay, as those of nobody in particular.

    The person's account keeps its other parts, and what is held for it. A person who erases their own last entry
    closes their account with it. Once more changes nothing. Raises StillNeeded with every reason.
    """
    if by is not None:
        _own_or_owner(guest, by)
    guest = locked(Guest.objects.select_related("fishery"), pk=guest.pk)
    if guest.erased_at:
        return guest
    reasons = [reason for holding in holdings() for reason in holding.still_needed(guest, now)]
    if reasons:
        raise StillNeeded(" ".join(reasons), errors={"guest": reasons})
    for holding in holdings():
        if holding.forget:
            holding.forget(guest, now)
    own = by is not None and by.pk == guest.user_id
    record("erase guest", guest, by=None if own else by, now=now, fishery=guest.fishery)
    if own:
        close_if_unused(by)
    guest.refresh_from_db()
    return guest


def forget_by_and_by(*, now: dt.datetime) -> dict[str, int]:
    """What the periods say is over is forgotten. Idempotent; a row that fails is logged and the others go on."""
    done = {"guests": 0, "contacts": 0, "letters": 0, "messages": 0, "accounts": 0}
    for fishery in Fishery.objects.order_by("id"):
        terms = terms_of(fishery)
        done["guests"] += _forget_guests(fishery, now - terms.keep_guests_months * MONTH, now)
        idle = idle_guests(fishery, now - terms.keep_contacts_months * MONTH)
        named = idle.exclude(**CONTACT)
        done["contacts"] += named.update(**CONTACT)
        old = Paper.objects.filter(
            let__beat__fishery=fishery, written_at__lt=now - terms.keep_letters_months * MONTH
        )
        done["letters"] += old.exclude(recipient="", subject="").update(recipient="", subject="", last_fault="")
    ended = HookMessage.objects.exclude(state__in=["waiting", "sending"])
    done["messages"] = ended.filter(written_at__lt=now - KEEP_MESSAGES).delete()[0]
    done["accounts"] = close_unused_accounts()
    return done


def idle_guests(fishery: Fishery, since: dt.datetime) -> QuerySet[Guest]:
    """Guests, not yet forgotten, of whom nothing was heard since an instant."""
    heard = Q(entered_at__isnull=True) | Q(entered_at__gte=since)
    for holding in holdings():
        if holding.guests_since:
            heard |= Q(pk__in=holding.guests_since(since))
    return Guest.objects.filter(fishery=fishery, erased_at__isnull=True).exclude(heard)


def _forget_guests(fishery: Fishery, since: dt.datetime, now: dt.datetime) -> int:
    count = 0
    for guest in idle_guests(fishery, since)[:BATCH]:
        try:
            erase(guest, by=None, now=now)
        except StillNeeded as reason:
            log.info("guest %s is still needed: %s", guest.pk, reason.sentence)
        except Exception:
            log.exception("guest %s could not be forgotten; it is tried again", guest.pk)
        else:
            count += 1
    return count


def _own_or_owner(guest: Guest, by: User) -> None:
    if guest.user_id != by.pk and role_in(by, guest.fishery) != Role.OWNER:
        raise NotYours(say("This is for the guest and the owner. Ask them."))
