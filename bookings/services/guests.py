"""The book of guests."""

import datetime as dt
from typing import Any

from django.db import IntegrityError, transaction

from beats.audit import record
from beats.models import Fishery, Membership, User
from beats.queries import Role, require_role
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal, Stale
from beats.shares import refuse_when_full
from bookings.models import Guest


class KnownGuest(Refusal):
    """The fishery has a guest of this e-mail address already."""

    code = "known-guest"
    title = say("Already in the book")


class Forgotten(Refusal):
    """All that named the guest was taken out."""

    code = "forgotten"
    title = say("A forgotten guest")


class OwnContact(Refusal):
    """The emergency contact is the angler."""

    code = "own-contact"
    title = say("That is the angler")
    status = 400


WHO = ("name", "phone", "emergency_contact_name", "emergency_contact_phone")


def add_guest(
    fishery: Fishery, *, facts: dict[str, Any], by: User, now: dt.datetime, once: Once | None = None
) -> tuple[Guest, bool]:
    """Enter a guest; one with an e-mail address can sign in. Returns (guest, new?).

    Raises KnownGuest, NotYourPart, KeyReused.
    """
    require_role(by, fishery, Role.OWNER, Role.GHILLIE)
    _refuse_own_contact(facts)

    def make(columns: dict[str, Any]) -> Guest:
        refuse_when_full("guests", Guest.objects.filter(fishery=fishery, erased_at=None))
        user = _account(fishery, facts) if facts.get("email") else None
        try:
            with transaction.atomic():
                guest = Guest.objects.create(fishery=fishery, user=user, entered_at=now, **facts, **columns)
        except IntegrityError:
            raise KnownGuest(
                say(
                    "{facts} is already in the guest book of {fishery_name}. Change that entry instead.",
                    facts=facts["email"],
                    fishery_name=fishery.name,
                )
            ) from None
        record("add guest", guest, by=by, now=now, fishery=fishery, after={"name": guest.name})
        return guest

    return make_once(Guest, by=by, once=once, make=make)


@transaction.atomic
def change_guest(guest: Guest, *, facts: dict[str, Any], version: int, by: User, now: dt.datetime) -> Guest:
    """Change an entry that is still at `version`; raises Stale when somebody was quicker."""
    require_role(by, guest.fishery, Role.OWNER, Role.GHILLIE)
    if guest.erased_at:
        raise Forgotten(say("This guest was forgotten. Enter them anew if they come again."))
    before = {name: getattr(guest, name) for name in facts}
    merged = {name: facts.get(name, getattr(guest, name)) for name in WHO}
    _refuse_own_contact(merged)
    changed = Guest.objects.filter(pk=guest.pk, version=version).update(version=version + 1, **facts)
    if not changed:
        raise Stale(say("Somebody changed this entry since you read it. Read it again, then make your change."))
    guest.refresh_from_db()
    # What changed is named; telephone numbers themselves stay out of the audit trail.
    record("change guest", guest, by=by, now=now, fishery=guest.fishery, after={"changed": ", ".join(before)})
    return guest


def _refuse_own_contact(facts: dict[str, Any]) -> None:
    """Whoever is missing cannot answer for themselves."""
    name, phone, contact_name, contact_phone = (facts.get(part, "") for part in WHO)
    same_phone = bool(contact_phone) and contact_phone == phone
    same_name = bool(contact_name) and contact_name.split() and _plain(contact_name) == _plain(name)
    if same_phone or same_name:
        field = "emergency_contact_phone" if same_phone else "emergency_contact_name"
        raise OwnContact(
            say(
                "The emergency contact is the angler. Name somebody who stays on the bank and can be "
                "rung when the angler is missing."
            ),
            errors={field: [say("Somebody else's, please.")]},
        )


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def _account(fishery: Fishery, facts: dict[str, Any]) -> User:
    user = User.objects.filter(email=facts["email"]).first()
    if user is None:
        try:
            with transaction.atomic():
                user = User.objects.create_user(facts["email"], name=facts["name"], phone=facts.get("phone", ""))
        except IntegrityError:  # another hand entered the same person meanwhile
            user = User.objects.get(email=facts["email"])
    Membership.objects.get_or_create(user=user, fishery=fishery, defaults={"role": Role.GUEST})
    return user
