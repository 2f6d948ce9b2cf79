"""Calendar feeds: an address with a secret in it, given out and taken back."""

import datetime as dt
import secrets
from typing import Any

from django.db import transaction
from django.db.models import Q

from beats.audit import record
from beats.authentication import digest_of
from beats.models import Beat, Fishery, Membership, User
from beats.queries import Role, require_role, role_in
from beats.shared.once import Once, make_once
from beats.shared.refusals import NotYours
from beats.shares import refuse_when_full
from bookings.models import CalendarFeed, Guest

NOTE_USE_EVERY = dt.timedelta(hours=1)


def open_feed(
    fishery: Fishery,
    *,
    beat: Beat | None = None,
    guest: Guest | None = None,
    label: str,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[CalendarFeed, str | None, bool]:
    """A feed of a beat, of a guest, or with neither of all the water for the keeper who asks.

    Returns (feed, secret, new?); the secret is shown this once. Raises NotYours, KeyReused.
    """
    role = require_role(by, fishery, *Role.values)
    if guest is None:
        require_role(by, fishery, *Membership.KEEPERS)
    elif guest.user_id != by.pk and role != Role.OWNER:
        raise NotYours("A guest's calendar is for the guest and the owner. Ask them.")
    secret = secrets.token_urlsafe(32)

    def make(columns: dict[str, Any]) -> CalendarFeed:
        refuse_when_full("calendars", CalendarFeed.objects.filter(fishery=fishery))
        feed = CalendarFeed.objects.create(
            fishery=fishery, beat=beat, guest=guest, ghillie=None if beat or guest else by, label=label,
            digest=digest_of(secret), created_at=now, **columns,
        )  # fmt: skip
        record("open feed", feed, by=by, now=now, fishery=fishery, after={"label": label})
        return feed

    feed, made = make_once(CalendarFeed, by=by, once=once, make=make)
    return feed, secret if made else None, made


@transaction.atomic
def close_feed(feed: CalendarFeed, *, by: User, now: dt.datetime) -> None:
    """The address opens nothing from now on. Whoever asked for it may, whose it is, and the owner."""
    own = by.pk in (feed.made_by_id, feed.ghillie_id, feed.guest and feed.guest.user_id)
    if not own and role_in(by, feed.fishery) != Role.OWNER:
        raise NotYours("Only whoever asked for this calendar, or the owner, may close it. Ask them.")
    if CalendarFeed.objects.filter(pk=feed.pk, revoked_at__isnull=True).update(revoked_at=now):
        record("close feed", feed, by=by, now=now, fishery=feed.fishery, before={"label": feed.label})


def note_use(feed: CalendarFeed, *, now: dt.datetime) -> None:
    """When it was last asked for, to the hour: so that whoever gave it out sees whether it is used."""
    long_ago = Q(last_used_at__isnull=True) | Q(last_used_at__lt=now - NOTE_USE_EVERY)
    CalendarFeed.objects.filter(long_ago, pk=feed.pk).update(last_used_at=now)
