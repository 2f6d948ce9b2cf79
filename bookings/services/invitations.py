"""Linking a person's account to the entry that a fishery has of them: by that person's own consent alone.

A fishery enters guests with any e-mail address it likes. That changes nothing of the account that has the
address, and shows the fishery nothing of it. The person who proves the address, by signing in with a code that was
sent to it, is shown which fishery entered it and accepts or declines.
"""

import datetime as dt

from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef, QuerySet

from beats.audit import record
from beats.models import Membership, User
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from beats.shared.wall import lowered
from bookings.about_me import account_parts
from bookings.models import Guest
from bookings.queries import invitations_to, unlinked_guests

CLOSED_DOMAIN = "@erased.invalid"
"""RFC 2606 reserves .invalid: no message goes there."""


class InvitationGone(Refusal):
    """The entry is no longer open to this account."""

    code = "invitation-gone"
    title = say("No longer open")


class AlreadyLinked(Refusal):
    """The account is linked to another entry of the same fishery."""

    code = "already-linked"
    title = say("You are a guest here already")


def prepare_account(email: str) -> None:
    """Make sure that the holder of an address can ask for a code. An account that exists is not touched."""
    if not email or User.objects.filter(email=email).exists():
        return
    try:
        with transaction.atomic():
            User.objects.create_user(email)
    except IntegrityError:
        return  # entered at another fishery in the same instant


def invitations_of(user: User) -> list[Guest]:
    """Entries with this person's address that they have not accepted, open ones first; of all fisheries."""
    with lowered():  # they have no part at these fisheries yet
        rows = invitations_to(user).order_by("fishery__name", "id")
        return sorted(rows, key=lambda guest: guest.invitation != "open")


@transaction.atomic
def accept_invitation(pk: int, *, by: User, now: dt.datetime) -> Guest:
    """Link the entry to the account and make the person a guest of the fishery. Twice is once.

    Raises Guest.DoesNotExist where it is not theirs to see, InvitationGone, AlreadyLinked.
    """
    with lowered():  # they have no part at this fishery yet
        guest = _for_answer(pk, by)
        if guest.user_id == by.pk:
            return guest
        try:
            with transaction.atomic():
                Guest.objects.filter(pk=guest.pk).update(user=by, declined_at=None, version=guest.version + 1)
        except IntegrityError:
            raise AlreadyLinked(
                say(
                    "You are in the guest list of {fishery} already, under another e-mail address. Ask the "
                    "fishery to correct it.", fishery=guest.fishery.name,
                )
            ) from None  # fmt: skip
        Membership.objects.get_or_create(user=by, fishery=guest.fishery, defaults={"role": Membership.Role.GUEST})
        record("accept invitation", guest, by=by, now=now, fishery=guest.fishery)
        guest.user, guest.declined_at, guest.version = by, None, guest.version + 1
        return guest


@transaction.atomic
def decline_invitation(pk: int, *, by: User, now: dt.datetime) -> Guest:
    """Say no; the entry stays the fishery's own, and the person may still accept later. Twice is once.

    Raises Guest.DoesNotExist where it is not theirs to see, InvitationGone.
    """
    with lowered():  # they have no part at this fishery
        guest = _for_answer(pk, by)
        if guest.user_id == by.pk:
            raise InvitationGone(
                say("You accepted this already. To leave the fishery, ask for your entry to be erased.")
            )
        if guest.declined_at is None:
            Guest.objects.filter(pk=guest.pk).update(declined_at=now, version=guest.version + 1)
            record("decline invitation", guest, by=by, now=now, fishery=guest.fishery)
            guest.declined_at, guest.version = now, guest.version + 1
        return guest


def close_if_unused(user: User) -> bool:
    """Close an account that has no part at any fishery and no entry to answer."""
    with lowered():  # the question is whether they have a part at other fisheries
        if not _unused().filter(pk=user.pk).exists():
            return False
        _close(user)
        return True


def close_unused_accounts() -> int:
    """As `close_if_unused`, for every account; never of staff. Idempotent."""
    count = 0
    for user in _unused().exclude(email__endswith=CLOSED_DOMAIN):
        with transaction.atomic():
            _close(user)
        count += 1
    return count


def _for_answer(pk: int, by: User) -> Guest:
    guest = locked(Guest.objects.filter(erased_at__isnull=True).select_related("fishery"), pk=pk)
    if guest.user_id == by.pk:
        return guest
    if guest.user_id is not None or not guest.email or guest.email != by.email:
        raise Guest.DoesNotExist
    return guest


def _unused() -> QuerySet[User]:
    parts = Membership.objects.filter(user=OuterRef("pk"))
    linked = Guest.objects.filter(user=OuterRef("pk"))
    invited = unlinked_guests().filter(email=OuterRef("email"))
    people = User.objects.filter(is_staff=False, is_superuser=False)
    return people.exclude(Exists(parts)).exclude(Exists(linked)).exclude(Exists(invited))


def _close(user: User) -> None:
    """The row stays, without what names the person: acts of theirs hang on it."""
    for forget in account_parts():
        forget(user)
    user.email, user.name, user.phone, user.is_active = f"gone-{user.pk}{CLOSED_DOMAIN}", "", "", False
    user.set_unusable_password()
    user.save()
