"""Keeping every text of an angler, and telling the keeper on duty of one that a person must read."""

import datetime as dt
from dataclasses import dataclass

from beats.models import Fishery
from beats.queries import zone_of
from beats.shared.limits import TooOften, spend
from bookings.models import Guest
from safety import texts, wording
from safety.ladder import By
from safety.models import AnglerMessage, Delivery
from safety.priority import priority_of
from safety.services.people import Crew, policy_of
from safety.services.writing import one_line
from sessions.models import Outing

RECENT = dt.timedelta(hours=24)
"""An outing that ended within so long is still what a text is about. Common practice, no source."""
TOLD_AN_HOUR = 20
"""Messages of one number that keepers are notified of in an hour; more are stored and shown all the same."""
HOUR = dt.timedelta(hours=1)


@dataclass(frozen=True)
class Sender:
    """Who wrote: what is known from the number alone. `outing` is open, or ended within `RECENT`."""

    number: str
    guests: tuple[Guest, ...] = ()
    outing: Outing | None = None

    @property
    def on_the_water(self) -> bool:
        return self.outing is not None and self.outing.checked_out_at is None


def sender_of(number: str, *, now: dt.datetime) -> Sender:
    """The guests who have this number, and their newest outing: an open one before one that has ended."""
    known = Guest.objects.filter(phone=number, erased_at__isnull=True).exclude(phone="")
    guests = tuple(known.select_related("fishery").order_by("id"))
    outings = Outing.objects.filter(guest__in=guests).select_related("guest", "beat__fishery", "pool")
    found = outings.filter(checked_out_at__isnull=True).order_by("due_back_at").first()
    if found is None:
        found = outings.filter(checked_out_at__gte=now - RECENT).order_by("-checked_out_at").first()
    return Sender(number, guests, found)


def keep(
    sender: Sender, outing: Outing | None, *, text: str, outcome: str, understood: bool, now: dt.datetime
) -> list[AnglerMessage]:
    """Store a text for the fishery of its outing, or for each fishery that knows the number.

    A number nobody knows is stored where there is one fishery only: whose it is cannot be told elsewhere.
    """
    outing = outing or sender.outing
    if outing is not None:
        whose: list[tuple[Fishery, Guest | None]] = [(outing.beat.fishery, outing.guest)]
    elif sender.guests:
        whose = [(guest.fishery, guest) for guest in sender.guests]
    else:
        waters = list(Fishery.objects.all()[:2])
        whose = [(waters[0], None)] if len(waters) == 1 else []
    return [
        AnglerMessage.objects.create(
            fishery=fishery, guest=guest, outing=outing, sender=sender.number, text=texts.clean(text),
            received_at=now, outcome=outcome[:200], understood=understood,
        )
        for fishery, guest in whose
    ]  # fmt: skip


def tell_keepers(message: AnglerMessage, *, now: dt.datetime, help_wanted: bool = False, done: str = "") -> int:
    """Write the notifications of one message for whoever is on duty. Returns how many were written.

    `done` is what the service took it as, where it acted on it.
    """
    try:
        spend("notify of texts from", message.sender, allowed=TOLD_AN_HOUR, each=HOUR, now=now)
    except TooOften:
        if not help_wanted:
            return 0
    outing, guest, crew = message.outing, message.guest, Crew(now)
    words = wording.angler_text(
        name=one_line(guest.name) if guest else "An unknown number", phone=message.sender, text=message.text,
        where=_where(message), on_the_water=outing is not None and outing.checked_out_at is None,
        at=f"{now.astimezone(zone_of(message.fishery)):%H:%M}", help_wanted=help_wanted, done=done,
    )  # fmt: skip
    people = crew.on_duty(message.fishery) or crew.keepers(message.fishery)
    wait_s = policy_of(outing.beat).receipt_seconds if outing else 90
    by = tuple(By) if help_wanted else (By.EMAIL, By.TEXT)
    made = {
        (channel, recipient): Delivery(
            outing=outing, fishery=message.fishery, about=Delivery.About.MESSAGE, turn=message.pk, channel=channel,
            recipient=recipient,
            priority=priority_of(Delivery.About.MESSAGE, kind="help" if help_wanted else ""),
            person=person.key, rank=rank, subject=words.subject[:200], body=words.body, written_at=now,
            next_try_at=now + rank * dt.timedelta(seconds=wait_s),
        )
        for person in people
        for channel, recipient, rank in (*person.ways(by), *crew.pushes(person))
    }  # fmt: skip
    Delivery.objects.bulk_create(made.values())
    return len(made)


def _where(message: AnglerMessage) -> str:
    outing = message.outing
    if outing is None:
        return one_line(message.fishery.name)
    pool = f", {one_line(outing.pool.name)}" if outing.pool else ""
    return f"{one_line(outing.beat.name)}{pool}"


def needs_a_person(sender: Sender, asked: texts.Asked | str) -> bool:
    """Whether a text that was not understood is from somebody who is, or lately was, on the water."""
    return isinstance(asked, str) and sender.outing is not None
