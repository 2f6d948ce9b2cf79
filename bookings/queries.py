"""Who may see which guests, lets and rod-days."""

from django.db.models import Q, QuerySet

from beats.models import Fishery, User
from beats.queries import fisheries_kept_by
from bookings.models import Guest, Let, RodDay


def guests_visible_to(user: User) -> QuerySet[Guest]:
    """Keepers see the fishery's guests; a guest sees their own entry."""
    mine = Q(user=user) | Q(fishery__in=fisheries_kept_by(user))
    return Guest.objects.filter(mine).select_related("fishery")


def lets_visible_to(user: User) -> QuerySet[Let]:
    """Keepers see all; a guest sees lets they booked or fish in."""
    fishing = RodDay.objects.filter(guest__user=user).values("let")
    mine = Q(booker__user=user) | Q(pk__in=fishing) | Q(beat__fishery__in=fisheries_kept_by(user))
    return Let.objects.filter(mine).select_related("beat__fishery", "booker")


def rod_days_visible_to(user: User) -> QuerySet[RodDay]:
    """Keepers see all; a guest sees their own days and those of the lets they booked."""
    mine = (
        Q(guest__user=user)
        | Q(sharer__user=user)
        | Q(let__booker__user=user)
        | Q(beat__fishery__in=fisheries_kept_by(user))
    )
    return RodDay.objects.filter(mine).select_related("beat", "guest")


def guest_of(user: User, fishery: Fishery) -> Guest | None:
    """The person's own entry in a fishery's book."""
    return Guest.objects.filter(user=user, fishery=fishery).first()
