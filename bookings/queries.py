"""Who may see which guests, lets and rod-days."""

import datetime as dt

from django.db.models import Q, QuerySet
from django.db.models.expressions import RawSQL

from beats.audit import subject_of
from beats.models import AuditEntry, Fishery, Membership, User
from beats.queries import beats_kept_by, fisheries_kept_by, fisheries_visible_to
from bookings.models import (
    BeatClosure,
    CalendarFeed,
    Guest,
    Hook,
    LedgerEntry,
    Let,
    LettingSeason,
    Offer,
    PaymentKey,
    RodDay,
    SameWeek,
    Tariff,
    Waiting,
)


def own_guests(user: User) -> RawSQL:
    """The ids of a person's own entries, to ask within another question as `beats_kept_by` is."""
    return RawSQL("SELECT id FROM bookings_guest WHERE user_id = %s", [user.pk])


def guests_visible_to(user: User) -> QuerySet[Guest]:
    """Keepers see the fishery's guests; a guest sees their own entry."""
    mine = Q(user=user) | Q(fishery__in=fisheries_kept_by(user))
    return Guest.objects.filter(mine).select_related("fishery")


def unlinked_guests() -> QuerySet[Guest]:
    """Entries with an e-mail address that no account is linked to."""
    return Guest.objects.filter(user__isnull=True, erased_at__isnull=True).exclude(email="")


def invitations_to(user: User) -> QuerySet[Guest]:
    """Entries that the holder of the address may accept. Row-level security hides them: see the callers."""
    return unlinked_guests().filter(email=user.email).select_related("fishery")


def lets_visible_to(user: User) -> QuerySet[Let]:
    """Keepers see all; a guest sees lets they booked or fish in."""
    fishing = RodDay.objects.filter(guest__user=user).values("let")
    mine = Q(booker__in=own_guests(user)) | Q(pk__in=fishing) | Q(beat__in=beats_kept_by(user))
    return Let.objects.filter(mine).select_related("beat__fishery", "booker")


def lets_answered_for_by(user: User) -> QuerySet[Let]:
    """Lets whose money is the person's affair: those they booked, and for keepers all."""
    mine = Q(booker__in=own_guests(user)) | Q(beat__in=beats_kept_by(user))
    return Let.objects.filter(mine).select_related("beat__fishery", "booker")


def lets_booked_by(user: User) -> QuerySet[Let]:
    """Lets the person booked themselves, whatever other part they have."""
    return Let.objects.filter(booker__in=own_guests(user)).select_related("beat__fishery", "booker")


def guests_nameable_by(user: User, let: Let) -> QuerySet[Guest]:
    """Who may be named on a let: any guest of the fishery for keepers; for its booker they themselves, and guests
    named on lets they booked here, whose names they see already."""
    if fisheries_kept_by(user).filter(pk=let.beat.fishery_id).exists():
        return Guest.objects.filter(fishery=let.beat.fishery_id, erased_at=None)
    booked = RodDay.objects.filter(let__booker__in=own_guests(user), beat__fishery=let.beat.fishery_id)
    mine = Q(user=user) | Q(pk__in=booked.values("guest")) | Q(pk__in=booked.values("sharer"))
    return Guest.objects.filter(mine, fishery=let.beat.fishery_id, erased_at=None)


def offers_open_to(user: User, now: dt.datetime) -> QuerySet[Offer]:
    """Weeks held for the person themselves that they can still answer, soonest first."""
    held = Q(let__status=Let.Status.HELD, let__expires_at__gt=now, let__booker__in=own_guests(user))
    rows = Offer.objects.filter(held).select_related("let__beat__fishery", "let__booker", "same_week__season")
    return rows.order_by("let__expires_at", "pk")


def tariff_visible_to(user: User) -> QuerySet[Tariff]:
    """Prices are no secret to anybody of the fishery."""
    return Tariff.objects.filter(fishery__in=fisheries_visible_to(user)).select_related("fishery")


def ledger_visible_to(user: User) -> QuerySet[LedgerEntry]:
    """The owner sees every entry; a guest sees their own. A ghillie has no part in it."""
    owned = Fishery.objects.filter(memberships__user=user, memberships__role=Membership.Role.OWNER)
    return LedgerEntry.objects.filter(Q(guest__in=own_guests(user)) | Q(fishery__in=owned))


def feeds_visible_to(user: User) -> QuerySet[CalendarFeed]:
    """Those a person asked for or that are about them; the owner sees all."""
    owned = Fishery.objects.filter(memberships__user=user, memberships__role=Membership.Role.OWNER)
    mine = Q(made_by=user) | Q(ghillie=user) | Q(guest__user=user) | Q(fishery__in=owned)
    return CalendarFeed.objects.filter(mine).select_related("fishery", "guest")


def hooks_visible_to(user: User) -> QuerySet[Hook]:
    """Hooks of fisheries one may see; only the owner may list or revoke them."""
    return Hook.objects.filter(fishery__in=fisheries_visible_to(user)).select_related("fishery")


def payment_keys_visible_to(user: User) -> QuerySet[PaymentKey]:
    """As `hooks_visible_to`."""
    return PaymentKey.objects.filter(fishery__in=fisheries_visible_to(user)).select_related("fishery")


def rod_days_visible_to(user: User) -> QuerySet[RodDay]:
    """Keepers see all; a guest sees their own days and those of the lets they booked.

    Each way to see one is asked by its own index: one OR would look at the day's rods of every other water.
    """
    own = own_guests(user)
    booked = Let.objects.filter(booker__in=own).values("pk")
    ways = Q(beat__in=beats_kept_by(user)), Q(guest__in=own), Q(sharer__in=own), Q(let__in=booked)
    first, *others = (RodDay.objects.filter(way).values("pk") for way in ways)
    return RodDay.objects.filter(pk__in=first.union(*others, all=True)).select_related("beat", "guest")


def beat_closures_visible_to(user: User) -> QuerySet[BeatClosure]:
    """Whoever may see the beat sees when it is closed."""
    seen = BeatClosure.objects.filter(beat__fishery__in=fisheries_visible_to(user))
    return seen.select_related("beat__fishery")


def waiting_visible_to(user: User) -> QuerySet[Waiting]:
    """Who still waits: keepers see all, a guest sees their own places."""
    mine = Q(guest__user=user) | Q(fishery__in=fisheries_kept_by(user))
    return Waiting.objects.filter(mine, left_at=None).select_related("fishery", "guest")


def waiting_for(let: Let, user: User, *, weeks: range) -> QuerySet[Waiting]:
    """Who of those would take rods as this let has them, in some of the `weeks` of the season."""
    where, when = Q(beat=None) | Q(beat=let.beat), Q(week=None) | Q(week__in=list(weeks))
    return waiting_visible_to(user).filter(where, when, fishery=let.beat.fishery, rods__lte=let.rods)


def offers_visible_to(user: User) -> QuerySet[Offer]:
    """Keepers see all; a guest sees what is held for them."""
    mine = Q(let__booker__user=user) | Q(let__beat__fishery__in=fisheries_kept_by(user))
    return Offer.objects.filter(mine).select_related("let__booker", "same_week__season", "notice", "reminder")


def lets_of_the_year_before(season: LettingSeason) -> QuerySet[Let]:
    """The confirmed lets whose tenants come first when a season opens."""
    rows = Let.objects.filter(
        beat__fishery=season.fishery, status=Let.Status.CONFIRMED, first_on__year=season.year - 1
    )
    return rows.select_related("beat__fishery", "booker")


def same_weeks_visible_to(user: User) -> QuerySet[SameWeek]:
    """Only keepers see what last year's weeks became."""
    kept = SameWeek.objects.filter(season__fishery__in=fisheries_kept_by(user))
    return kept.select_related("season", "last_let")


def guest_of(user: User, fishery: Fishery) -> Guest | None:
    """The person's own entry in a fishery's book."""
    return Guest.objects.filter(user=user, fishery=fishery).first()


def last_change_of(guest: Guest) -> AuditEntry | None:
    """The newest entry of the audit trail about the guest's own row, with who made it."""
    about = AuditEntry.objects.filter(subject=subject_of(guest), verb__in=("add guest", "change guest"))
    return about.select_related("by").order_by("-at", "-pk").first()
