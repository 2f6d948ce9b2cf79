"""The guest list of a fishery.

An entry says what the fishery knows of a guest. It never touches the account of the person whose e-mail address it
names: see `invitations.py`.
"""

import datetime as dt
from typing import Any

from django.db import IntegrityError, transaction

from beats.audit import record
from beats.countries import country_of
from beats.models import Fishery, Membership, User
from beats.queries import Role, require_role, role_in
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal, Stale
from beats.shares import refuse_when_full
from bookings import contact_details
from bookings.contact_changes import contact_changed
from bookings.models import Guest
from bookings.services.invitations import prepare_account


class KnownGuest(Refusal):
    """The fishery has a guest of this e-mail address already."""

    code = "known-guest"
    title = say("Already in the book")


class Forgotten(Refusal):
    """All that named the guest was taken out."""

    code = "forgotten"
    title = say("A forgotten guest")


class GradeRaised(Refusal):
    """A guest asks for deeper wading than the fishery knows them for."""

    code = "grade-raised"
    title = say("Ask the ghillie")


OWN_FIELDS = frozenset({
    "phone", "emergency_contact_name", "emergency_contact_phone", "emergency_contact_email", "wading_grade",
    "casting_shoulder", "needs",
})  # fmt: skip
"""What guests may change of their own entry."""


def add_guest(
    fishery: Fishery, *, facts: dict[str, Any], by: User, now: dt.datetime, once: Once | None = None
) -> tuple[Guest, bool]:
    """Enter a guest; one with an e-mail address can sign in and accept. Returns (guest, new?).

    Raises KnownGuest, NotYours, KeyReused, BadContact, OwnContact.
    """
    require_role(by, fishery, Role.OWNER, Role.GHILLIE)
    facts = contact_details.written(facts, country=country_of(fishery.time_zone))
    contact_details.check(facts)

    def make(columns: dict[str, Any]) -> Guest:
        refuse_when_full("guests", Guest.objects.filter(fishery=fishery, erased_at=None))
        try:
            with transaction.atomic():
                guest = Guest.objects.create(fishery=fishery, entered_at=now, **facts, **columns)
        except IntegrityError:
            raise KnownGuest(
                say(
                    "{facts} is already in the guest book of {fishery_name}. Change that entry instead.",
                    facts=facts["email"],
                    fishery_name=fishery.name,
                )
            ) from None
        prepare_account(guest.email)
        record("add guest", guest, by=by, now=now, fishery=fishery, after={"name": guest.name})
        return guest

    return make_once(Guest, by=by, once=once, make=make)


@transaction.atomic
def change_guest(guest: Guest, *, facts: dict[str, Any], version: int, by: User, now: dt.datetime) -> Guest:
    """Change an entry that is still at `version`: a keeper any of it, guests OWN_FIELDS of their own.

    Raises Stale when somebody was quicker, Forgotten, NotYours, GradeRaised, BadContact, OwnContact.
    """
    _require_change(guest, facts, by)
    if guest.erased_at:
        raise Forgotten(say("This guest was forgotten. Enter them anew if they come again."))
    facts = contact_details.written(facts, country=country_of(guest.fishery.time_zone))
    before = {name: getattr(guest, name) for name in facts}
    contact_details.check({name: facts.get(name, getattr(guest, name)) for name in contact_details.COMPARED})
    changed = Guest.objects.filter(pk=guest.pk, version=version).update(version=version + 1, **facts)
    if not changed:
        raise Stale(say("Somebody changed this entry since you read it. Read it again, then make your change."))
    guest.refresh_from_db()
    if "email" in facts:
        prepare_account(guest.email)
    # What changed is named; telephone numbers themselves stay out of the audit trail.
    different = [name for name, value in before.items() if value != getattr(guest, name)]
    after = {"changed": ", ".join(different)} | _grade(facts, different)
    record("change guest", guest, by=by, now=now, fishery=guest.fishery, before=_grade(before, different) or None,
           after=after)  # fmt: skip
    contact_changed(guest, now=now)
    return guest


def stands_as(guest: Guest, facts: dict[str, Any]) -> Guest | None:
    """The guest, if their entry already holds all of `facts`: a form that was sent twice. Raises BadContact."""
    facts = contact_details.written(facts, country=country_of(guest.fishery.time_zone))
    known = Guest.objects.get(pk=guest.pk)
    return known if all(getattr(known, name) == value for name, value in facts.items()) else None


def _require_change(guest: Guest, facts: dict[str, Any], by: User) -> None:
    own = guest.user_id == by.pk and role_in(by, guest.fishery) not in Membership.KEEPERS
    if not own or not OWN_FIELDS.issuperset(facts):
        require_role(by, guest.fishery, Role.OWNER, Role.GHILLIE)
        return
    asked, known = facts.get("wading_grade"), guest.wading_grade
    if "wading_grade" in facts and known is not None and (asked is None or asked > known):
        sentence = say("Only the ghillie sets a deeper wading grade than the one that is known. Ask the ghillie.")
        raise GradeRaised(sentence, errors={"wading_grade": [sentence]})


def _grade(facts: dict[str, Any], different: list[str]) -> dict[str, Any]:
    """The one value that is named in the trail."""
    return {"wading_grade": facts["wading_grade"]} if "wading_grade" in different else {}
