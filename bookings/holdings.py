"""What the book holds about a guest, and how it forgets."""

import datetime as dt
from typing import Any

from django.db.models import Q

from beats.audit import forgetting
from beats.models import AccessToken, AuditEntry, Membership, User
from beats.queries import local_day
from bookings import reckoning
from bookings.about_me import Holding, forget_with_account, hold
from bookings.models import CalendarFeed, Guest, LedgerEntry, Let, Paper, RodDay, Waiting

BLANK = {
    "email": "",
    "phone": "",
    "emergency_contact_name": "",
    "emergency_contact_phone": "",
    "emergency_contact_email": "",
    "needs": "",
    "casting_shoulder": "",
}
ENTRY = ("name", "wading_grade", "needs_ghillie", "wants_boat", *BLANK)


def _entry(guest: Guest) -> list[dict[str, Any]]:
    entered = {"entered_at": guest.entered_at and guest.entered_at.isoformat()}
    return [{name: getattr(guest, name) for name in ENTRY} | {"fishery": guest.fishery.slug} | entered]


def _forget_entry(guest: Guest, now: dt.datetime) -> None:
    """The row stays, as somebody: rod-days, fish and money hang on it.

    The person's account is theirs. It loses its part as a guest of this fishery and nothing else.
    """
    Guest.objects.filter(pk=guest.pk).update(
        name=f"Guest {guest.pk}", user=None, declined_at=None, erased_at=now, version=guest.version + 1, **BLANK
    )
    with forgetting():
        AuditEntry.objects.filter(subject=f"bookings.guest:{guest.pk}", after__has_key="name").update(after=None)
    Membership.objects.filter(user=guest.user_id, fishery=guest.fishery_id, role=Membership.Role.GUEST).delete()


def _lets(guest: Guest) -> list[dict[str, Any]]:
    rows = Let.objects.filter(booker=guest).select_related("beat").order_by("id")
    return [
        {
            "let": row.pk, "beat": row.beat.slug, "first_on": str(row.first_on), "last_on": str(row.last_on),
            "rods": row.rods, "kind": row.kind, "status": row.status, "made_at": row.made_at.isoformat(),
        }
        for row in rows
    ]  # fmt: skip


def _rod_days(guest: Guest) -> list[dict[str, Any]]:
    rows = RodDay.objects.filter(Q(guest=guest) | Q(sharer=guest)).select_related("beat").order_by("day", "rod")
    return [{"day": str(row.day), "beat": row.beat.slug, "rod": row.rod, "let": row.let_id} for row in rows]


def _days_to_come(guest: Guest, now: dt.datetime) -> list[str]:
    today = local_day(guest.fishery, now)
    mine = Q(guest=guest) | Q(sharer=guest) | Q(let__booker=guest)
    count = RodDay.objects.filter(mine, day__gte=today).count()
    return (
        [f"{count} rod-days are still to come; cancel them or give them to another guest first."] if count else []
    )


def _fished_since(since: dt.datetime):
    return RodDay.objects.filter(day__gte=since.date(), guest__isnull=False).values("guest")


def _shared_since(since: dt.datetime):
    return RodDay.objects.filter(day__gte=since.date(), sharer__isnull=False).values("sharer")


def _booked_since(since: dt.datetime):
    return Let.objects.filter(last_on__gte=since.date()).values("booker")


def _waits(guest: Guest) -> list[dict[str, Any]]:
    rows = Waiting.objects.filter(guest=guest).select_related("beat").order_by("since", "id")
    return [
        {
            "beat": row.beat and row.beat.slug, "week": row.week, "rods": row.rods, "since": row.since.isoformat(),
            "left_at": row.left_at and row.left_at.isoformat(),
        }
        for row in rows
    ]  # fmt: skip


def _stop_waiting(guest: Guest, now: dt.datetime) -> None:
    Waiting.objects.filter(guest=guest, left_at=None).update(left_at=now)


def _waiting_since(since: dt.datetime):
    return Waiting.objects.filter(since__gte=since).values("guest")


def _money(guest: Guest) -> list[dict[str, Any]]:
    rows = LedgerEntry.objects.filter(guest=guest).order_by("booked_on", "id")
    return [
        {
            "booked_on": str(row.booked_on), "kind": row.kind, "amount": str(row.amount), "vat": str(row.vat),
            "currency": row.currency, "let": row.let_id, "reference": row.reference, "note": row.note,
        }
        for row in rows
    ]  # fmt: skip


def _unsettled(guest: Guest, _now: dt.datetime) -> list[str]:
    balance = reckoning.balance_of(guest)
    return [f"The account stands at {balance}; settle it first."] if balance else []


def _paid_since(since: dt.datetime):
    return LedgerEntry.objects.filter(booked_on__gte=since.date()).values("guest")


def _letters(guest: Guest) -> list[dict[str, Any]]:
    rows = Paper.objects.filter(let__booker=guest).exclude(recipient="").order_by("written_at")
    notices = guest.tenancy_notices.exclude(recipient="").order_by("written_at")
    return [
        {"to": row.recipient, "subject": row.subject, "let": row.let_id, "sent_at": str(row.sent_at or "")}
        for row in rows
    ] + [
        {"to": row.recipient, "subject": row.subject, "let": None, "sent_at": str(row.sent_at or "")}
        for row in notices
    ]


def _forget_letters(guest: Guest, _now: dt.datetime) -> None:
    mine = Q(let__booker=guest)
    if guest.email:  # of a let that has passed to another since
        mine |= Q(recipient=guest.email, let__beat__fishery=guest.fishery_id)
    Paper.objects.filter(mine).update(recipient="", subject="", last_fault="")
    guest.tenancy_notices.update(recipient="", subject="", last_fault="")


def _feeds(guest: Guest) -> list[dict[str, Any]]:
    rows = CalendarFeed.objects.filter(guest=guest).order_by("id")
    return [{"label": row.label, "created_at": row.created_at.isoformat()} for row in rows]


def _close_feeds(guest: Guest, now: dt.datetime) -> None:
    CalendarFeed.objects.filter(guest=guest).update(label="")
    CalendarFeed.objects.filter(guest=guest, revoked_at__isnull=True).update(revoked_at=now)


def _forget_tokens(user: User) -> None:
    AccessToken.objects.filter(user=user).delete()


hold(Holding("lets", _lets, still_needed=_days_to_come, guests_since=_booked_since))
hold(Holding("rod_days", _rod_days, guests_since=_fished_since))
hold(Holding("shared_rod_days", lambda _guest: [], guests_since=_shared_since))
hold(Holding("waiting", _waits, _stop_waiting, guests_since=_waiting_since))
hold(Holding("money", _money, still_needed=_unsettled, guests_since=_paid_since))
hold(Holding("letters", _letters, _forget_letters))
hold(Holding("calendars", _feeds, _close_feeds))
hold(Holding("guest", _entry, _forget_entry))
forget_with_account(_forget_tokens)
