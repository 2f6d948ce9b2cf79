"""Which contact details of a guest are missing, and what those given are used for here."""

from beats.shared.phrases import say
from bookings.models import Guest
from safety.ladder import By
from safety.services.channels_available import channels_available, told_by, ways_to


def gaps_of(guest: Guest) -> list[str]:
    """A sentence for each detail the watch needs and does not have."""
    gaps = []
    if not guest.phone:
        gaps.append(say("We have no telephone number for you: nobody can ring you on the water."))
    if guest.contact_is_self:
        gaps.append(say("Your emergency contact has your own number or address, which cannot answer for you."))
    elif not guest.emergency_contact_phone and not guest.emergency_contact_email:
        gaps.append(say("No emergency contact is known for you, so nobody outside the fishery is asked."))
    if guest.wading_grade is None:
        gaps.append(say("How deep you may wade is not known, so you are treated as the most careful wader."))
    return gaps


def asks_at_first_visit(guest: Guest) -> bool:
    """Whether somebody cannot be reached: they are asked for their details when they first sign in."""
    return not guest.phone or not (guest.emergency_contact_phone or guest.emergency_contact_email)


def uses_of(guest: Guest) -> list[str]:
    """What this installation does with the details that are known, and what it cannot do."""
    here = channels_available()
    ways = told_by(ways_to(email=guest.email, phone=guest.phone))
    told = [
        say("If you are late, you are sent a message {ways}.", ways=ways)
        if ways
        else say("If you are late, this service cannot send you a message.")
    ]
    if not here.gateway:
        told.append(say("This service sends no texts and makes no calls: keepers ring your number themselves."))
    contact = ways_to(email=guest.emergency_contact_email, phone=guest.emergency_contact_phone)
    if guest.emergency_contact_phone and By.TEXT not in contact and By.EMAIL not in contact:
        told.append(
            say("Your emergency contact can only be rung by a keeper; given an e-mail address we write to them.")
        )
    return told
