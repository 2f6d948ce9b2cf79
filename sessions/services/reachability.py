"""What the watch cannot do for an angler, kept with the outing and followed while it is open."""

import datetime as dt
from typing import Any

from beats.models import Beat
from bookings.contact_changes import on_contact_change
from bookings.models import Guest
from sessions.guards import GoingOut, limits_of
from sessions.models import Outing
from sessions.watch_limits import WatchLimit


def reach_columns(
    guest: Guest, beat: Beat, *, alone: bool, now: dt.datetime, by_watch: bool = False
) -> dict[str, Any]:
    """The columns of an outing that say what the watch cannot do for this angler."""
    limits = limits_of(GoingOut(guest, beat, alone, now, by_watch))
    return {
        "watch_limits": [str(limit) for limit in limits], "watched_by_time_only": WatchLimit.NO_NUMBER in limits,
    }  # fmt: skip


@on_contact_change
def follow_contact(guest: Guest, now: dt.datetime) -> None:
    """A number given or taken away while they are on the water counts at once."""
    outing = (
        Outing.objects.select_related("beat__fishery").filter(guest=guest, checked_out_at__isnull=True).first()
    )
    if outing is None:
        return
    about_contact = {WatchLimit.NO_NUMBER, WatchLimit.NO_CONTACT, WatchLimit.OWN_CONTACT}
    fresh = limits_of(GoingOut(guest, outing.beat, outing.alone, now))
    kept = {WatchLimit(limit) for limit in outing.watch_limits} - about_contact
    limits = [limit for limit in WatchLimit if limit in kept | (about_contact & set(fresh))]
    Outing.objects.filter(pk=outing.pk).update(
        watch_limits=[str(limit) for limit in limits], watched_by_time_only=WatchLimit.NO_NUMBER in limits
    )
