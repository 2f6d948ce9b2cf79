"""What is held about a guest's time on the water. Fish stay, as fish of nobody in particular."""

import datetime as dt
from typing import Any

from django.db.models import Q, QuerySet

from beats.audit import forgetting, subject_of
from beats.models import AuditEntry
from bookings.about_me import Holding, hold
from bookings.models import Guest
from sessions.models import Catch, Outing, OutingEntry, PhoneNote, Plan, Turn


def _outings(guest: Guest) -> list[dict[str, Any]]:
    rows = Outing.objects.filter(guest=guest).select_related("beat").prefetch_related("entries")
    return [
        {
            "beat": row.beat.slug, "checked_in_at": row.checked_in_at.isoformat(),
            "due_back_at": row.due_back_at.isoformat(), "plan": row.plan, "alone": row.alone,
            "party": row.party, "vehicle": row.vehicle, "wearing": row.wearing,
            "checked_out_at": row.checked_out_at and row.checked_out_at.isoformat(),
            "sea_trout_only": row.sea_trout_only, "meeting_person": row.meeting_person,
            "meeting_at": row.meeting_at and row.meeting_at.isoformat(),
            "watched_by_time_only": row.watched_by_time_only,
            "entries": [
                {"act": one.act, "at": one.at.isoformat(), "reported_by": one.reported_by,
                 "reported_via": one.reported_via}
                for one in row.entries.all()
            ],
        }
        for row in rows.order_by("checked_in_at")
    ]  # fmt: skip


def _forget_plans(guest: Guest, _now: dt.datetime) -> None:
    """When somebody was out stays: it is the river's effort. What they wrote of themselves goes."""
    Outing.objects.filter(guest=guest).update(plan="", vehicle="", wearing="", meeting_person="")
    Plan.objects.filter(guest=guest).update(plan="")
    OutingEntry.objects.filter(outing__guest=guest).exclude(reported_by="").update(reported_by="(erased)")
    deeds = AuditEntry.objects.filter(subject__in=[subject_of(row) for row in _outings_of(guest)])
    _take_words_out(deeds)


def _plans(guest: Guest) -> list[dict[str, Any]]:
    rows = Plan.objects.filter(guest=guest).select_related("beat").order_by("out_at")
    return [
        {
            "beat": row.beat.slug, "out_at": row.out_at.isoformat(), "due_back_at": row.due_back_at.isoformat(),
            "plan": row.plan, "alone": row.alone,
            "called_off_at": row.called_off_at and row.called_off_at.isoformat(),
        }
        for row in rows
    ]  # fmt: skip


def _going_out(guest: Guest, now: dt.datetime) -> list[str]:
    coming = Plan.objects.filter(guest=guest, called_off_at__isnull=True, outing__isnull=True, due_back_at__gt=now)
    return ["They have a planned outing; call it off first."] if coming.exists() else []


def _on_the_water(guest: Guest, _now: dt.datetime) -> list[str]:
    out = Outing.objects.filter(guest=guest, checked_out_at__isnull=True).exists()
    return ["They are on the water; check out first."] if out else []


def _out_since(since: dt.datetime) -> QuerySet:
    return Outing.objects.filter(Q(checked_in_at__gte=since) | Q(checked_out_at__isnull=True)).values("guest")


WRITTEN = ("fly", "method", "condition", "sex", "tag", "note", "flag")


def _catches(guest: Guest) -> list[dict[str, Any]]:
    rows = Catch.objects.filter(guest=guest).select_related("beat", "pool").order_by("caught_at")
    return [
        {
            "beat": row.beat.slug, "pool": row.pool and row.pool.slug, "caught_at": row.caught_at.isoformat(),
            "kind": row.kind, "fate": row.fate, "weight_kg": row.weight_kg and str(row.weight_kg),
            "weight_how": row.weight_how, "length_cm": row.length_cm and str(row.length_cm),
            "struck_out_at": row.struck_out_at and row.struck_out_at.isoformat(),
        }
        | {name: getattr(row, name) for name in WRITTEN}
        for row in rows
    ]  # fmt: skip


def _forget_notes(guest: Guest, _now: dt.datetime) -> None:
    """Fish, figures and tags stay; free words may name people, in the book and in what it said before."""
    fish = Catch.objects.filter(guest=guest)
    _take_words_out(AuditEntry.objects.filter(subject__in=[subject_of(row) for row in fish.only("pk")]))
    fish.update(note="")


def _outings_of(guest: Guest) -> QuerySet[Outing]:
    """Those that a keeper entered on somebody's report: their audit rows may name the caller."""
    return Outing.objects.filter(guest=guest, entries__reported_by__gt="").only("pk").distinct()


def _take_words_out(deeds: QuerySet[AuditEntry]) -> None:
    for deed in deeds:
        deed.before, deed.after = _without_words(deed.before), _without_words(deed.after)
    with forgetting():
        AuditEntry.objects.bulk_update(deeds, ["before", "after"], batch_size=500)


FREE_WORDS = ("note", "reason", "reported_by")


def _without_words(facts: dict[str, Any] | None) -> dict[str, Any] | None:
    return facts and {name: "" if name in FREE_WORDS else value for name, value in facts.items()}


def _caught_since(since: dt.datetime) -> QuerySet:
    return Catch.objects.filter(caught_at__gte=since, guest__isnull=False).values("guest")


def _turns(guest: Guest) -> list[dict[str, Any]]:
    rows = Turn.objects.filter(Q(guest=guest) | Q(sharer=guest)).select_related("part", "pool")
    return [
        {"day": str(row.day), "part": row.part.slug, "pool": row.pool.slug, "rod": row.rod}
        for row in rows.order_by("day", "id")
    ]


def _phone_notes(guest: Guest) -> list[dict[str, Any]]:
    return [
        {"act": row.act, "said_at": row.said_at and row.said_at.isoformat(), "age_s": row.age_s,
         "received_at": row.received_at.isoformat(), "happened_at": row.happened_at.isoformat(),
         "due_back_at": row.due_back_at and row.due_back_at.isoformat(), "facts": row.facts}
        for row in PhoneNote.objects.filter(guest=guest).order_by("received_at", "id")
    ]  # fmt: skip


def _forget_phone_notes(guest: Guest, _now: dt.datetime) -> None:
    PhoneNote.objects.filter(guest=guest).delete()


hold(Holding("outings", _outings, _forget_plans, still_needed=_on_the_water, guests_since=_out_since))
hold(Holding("plans", _plans, still_needed=_going_out))
hold(Holding("catches", _catches, _forget_notes, guests_since=_caught_since))
hold(Holding("turns", _turns))
hold(Holding("phone_notes", _phone_notes, _forget_phone_notes))
