"""Contact details of a guest: how they are written, and which cannot be used. Imports no Django.

Numbers are kept as E.164 (ITU-T E.164); one written without a country code is read as dialled in the
fishery's own country.
"""

from collections.abc import Mapping
from typing import Any

from beats.phones import e164
from beats.shared.phrases import say
from beats.shared.refusals import Refusal

DIALLABLE = say("Write a telephone number that can be dialled, with its country code, such as +44 1632 960123.")
NUMBERS = ("phone", "emergency_contact_phone")
COMPARED = (
    "name", "email", "phone", "emergency_contact_name", "emergency_contact_phone", "emergency_contact_email",
)  # fmt: skip


class BadContact(Refusal):
    """A number that cannot be dialled, or an emergency contact without any way to reach them."""

    code = "bad-contact"
    title = say("Contact details to correct")
    status = 400


class OwnContact(Refusal):
    """The emergency contact is the angler."""

    code = "own-contact"
    title = say("That is the angler")
    status = 400


def written(facts: Mapping[str, Any], *, country: str) -> dict[str, Any]:
    """The facts with every number as E.164 and the contact's address in lower case.

    Raises BadContact with a sentence for each field.
    """
    found, faults = dict(facts), {}
    for name in NUMBERS:
        if found.get(name):
            try:
                found[name] = e164(found[name], region=country)
            except ValueError:
                faults[name] = [DIALLABLE]
    if found.get("emergency_contact_email"):
        found["emergency_contact_email"] = found["emergency_contact_email"].lower()
    if faults:
        raise BadContact(say("A telephone number cannot be dialled as it is written."), errors=faults)
    return found


def check(facts: Mapping[str, Any]) -> None:
    """All that is known of one guest, numbers written. Raises OwnContact, BadContact."""
    name, email, phone, contact, contact_phone, contact_email = (facts.get(part) or "" for part in COMPARED)
    own = {}
    if contact_phone and contact_phone == phone:
        own["emergency_contact_phone"] = [say("Use a number that is not yours.")]
    if contact_email and contact_email.casefold() == email.casefold():
        own["emergency_contact_email"] = [say("Use an address that is not yours.")]
    if contact.strip() and _plain(contact) == _plain(name):
        own["emergency_contact_name"] = [say("Name another person.")]
    if own:
        raise OwnContact(
            say(
                "The emergency contact is the angler. Name somebody who stays on the bank and can be "
                "reached when the angler is missing."
            ),
            errors=own,
        )
    if contact.strip() and not contact_phone and not contact_email:
        sentence = say("Give a telephone number or an e-mail address of the emergency contact.")
        raise BadContact(sentence, errors={"emergency_contact_phone": [sentence]})


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())
