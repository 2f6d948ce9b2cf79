"""Letters to those for whom weeks are held: one when the weeks are held, one before the time to answer ends.

Asked again each time what is due and not written, so nothing is lost when a sweep is missed. One letter holds all
weeks of a season held for one guest. Common practice, no source: the 14 days before the end, the 7 days between.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Iterable

from django.conf import settings
from django.core.mail import EmailMessage
from django.db import transaction
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.urls import reverse

from beats.queries import zone_of
from beats.shared import outbox
from bookings.models import Let, Offer, SameWeek, TenancyNotice
from bookings.services.papers import WAITS
from bookings.services.seasons import lets_to_look_at
from bookings.tenancy_letters import HeldWeek, letter

REMIND_BEFORE = dt.timedelta(days=14)
BETWEEN_LETTERS = dt.timedelta(days=7)
ANSWER_PAGE = "my-lets"


def send_notices(*, clock: Callable[[], dt.datetime]) -> outbox.Round:
    """Write what is due, then send it. Idempotent; any number may run at once."""
    write_notices(now=clock())
    send = lambda notice: _send(notice, clock())  # noqa: E731
    return outbox.send_due(TenancyNotice, send, waits=WAITS, clock=clock, at_once=1)


def write_notices(*, now: dt.datetime) -> int:
    """A letter for each guest with weeks they were not written to about, and due reminders. Returns how many."""
    first, reminders = _unwritten(now), _to_remind(now)
    return _write(first, "notice", now) + _write(reminders, "reminder", now)


def _open(now: dt.datetime) -> QuerySet[Offer]:
    """Weeks held for somebody who can still answer and has an e-mail address."""
    held = Offer.objects.filter(let__status=Let.Status.HELD, let__expires_at__gt=now)
    held = held.exclude(let__booker__email="")
    return held.select_related("same_week__season", "let__booker").order_by("pk")


def _unwritten(now: dt.datetime) -> list[Offer]:
    """Tenants wait until all weeks of their season are held, so that one letter has all of theirs."""
    rows = list(_open(now).filter(notice=None))
    if not rows:
        return []
    unfinished = {season.pk for _, season in lets_to_look_at(now)} | set(_seasons_being_held(now))
    return [row for row in rows if row.number or row.same_week.season_id not in unfinished]


def _seasons_being_held(now: dt.datetime) -> Iterable[int]:
    """Seasons in which a tenant's week is still to be held."""
    offered = Offer.objects.filter(same_week=OuterRef("pk"))
    waits = SameWeek.objects.filter(~Exists(offered), fault="", first_on__gt=now.date())
    return waits.filter(season__answer_by__gte=now.date()).values_list("season", flat=True).distinct()


def _to_remind(now: dt.datetime) -> list[Offer]:
    due = Q(let__expires_at__lte=now + REMIND_BEFORE, notice__written_at__lte=now - BETWEEN_LETTERS)
    return list(_open(now).filter(due, reminder=None))


def _write(offers: Iterable[Offer], column: str, now: dt.datetime) -> int:
    by_guest: dict[tuple[int, int], list[Offer]] = defaultdict(list)
    for offer in offers:
        by_guest[offer.same_week.season_id, offer.let.booker_id].append(offer)
    return sum(_write_one(rows, column, now) for rows in by_guest.values())


@transaction.atomic
def _write_one(offers: list[Offer], column: str, now: dt.datetime) -> bool:
    """False when another sweep wrote about these weeks."""
    guest = offers[0].let.booker
    notice = TenancyNotice.objects.create(
        season=offers[0].same_week.season, guest=guest, recipient=guest.email, written_at=now, next_try_at=now
    )
    mine = Offer.objects.filter(pk__in=[offer.pk for offer in offers], **{column: None})
    if mine.update(**{column: notice}):
        return True
    transaction.set_rollback(True)
    return False


def _send(notice: TenancyNotice, now: dt.datetime) -> None:
    about = Q(notice=notice) | Q(reminder=notice)
    offers = list(_open(now).filter(about, let__booker=notice.guest_id).select_related("let__beat__fishery"))
    if not offers:
        raise outbox.GiveUp("No week is held for them any more.")
    if not notice.recipient:
        raise outbox.GiveUp("The guest has no e-mail address any more.")
    fishery = offers[0].let.beat.fishery
    zone = zone_of(fishery)
    weeks = [
        HeldWeek(
            beat=offer.let.beat.name, first_on=offer.let.first_on, last_on=offer.let.last_on, rods=offer.let.rods,
            answer_by=offer.let.expires_at.astimezone(zone), from_waiting_list=offer.number > 0,
        )
        for offer in sorted(offers, key=lambda offer: (offer.let.first_on, offer.pk))
    ]  # fmt: skip
    subject, text = letter(
        fishery=fishery.name, name=notice.guest.name, year=offers[0].same_week.season.year, weeks=weeks,
        page=settings.PUBLIC_URL + reverse(ANSWER_PAGE), reminder=offers[0].reminder_id == notice.pk,
    )  # fmt: skip
    message = EmailMessage(subject=subject, body=text, to=[notice.recipient])
    message.extra_headers = {"Message-ID": f"<{notice.pk}@rodtally>"}  # the same at every try
    if message.send() != 1:
        raise OSError("the mail server took nothing")
    TenancyNotice.objects.filter(pk=notice.pk, lease=notice.lease).update(subject=subject[:200])
