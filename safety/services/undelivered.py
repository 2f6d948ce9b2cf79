"""Messages that did not arrive: a keeper acknowledges them or corrects the address, or they expire.

What is closed is closed for every message that failed at the same address of the same fishery: a wrong number
is one task, however often an alarm repeated.
"""

import datetime as dt
import uuid

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import IntegrityError, transaction
from django.db.models import Q

from beats.audit import entry, record, record_all
from beats.models import Fishery, Membership, User
from beats.phones import e164
from beats.queries import require_role
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from beats.shared.wall import lowered
from bookings.models import Guest
from bookings.services.guests import change_guest
from safety.health import TO_PEOPLE, undelivered
from safety.models import Delivery

AFTER_ITS_CAUSE = dt.timedelta(days=1)
"""So long a failed message stays a task after its alarm was cleared or its outing ended."""
LONGEST_KEPT = dt.timedelta(days=7)
Channel, State = Delivery.Channel, Delivery.State
BY_TELEPHONE = (Channel.TEXT, Channel.VOICE)


class BadAddress(Refusal):
    """The new number or e-mail address cannot be used."""

    code = "bad-contact-address"
    title = say("That address cannot be used")
    status = 400

    def __init__(self, sentence: str) -> None:
        super().__init__(sentence, errors={"address": [sentence]})


class NotCorrectable(Refusal):
    """The address belongs to an account that a keeper may not change."""

    code = "not-correctable"
    title = say("Not yours to correct")


@transaction.atomic
def acknowledge(delivery: Delivery, *, by: User, now: dt.datetime) -> Delivery:
    """A keeper has seen to it, by telephone perhaps. Closed already, nothing changes. Raises NotYours."""
    fishery = fishery_of(delivery)
    require_role(by, fishery, *Membership.KEEPERS)
    row = _locked(delivery)
    if row.closed_at is None:
        _close(_same_address(row, fishery, now=now), row, Delivery.Closing.ACKNOWLEDGED, by=by, now=now)
        facts = {"channel": row.channel, "person": row.person}
        record("acknowledge undelivered message", row, by=by, now=now, fishery=fishery, after=facts)
    row.refresh_from_db()
    return row


@transaction.atomic
def correct_address(delivery: Delivery, *, address: str, by: User, now: dt.datetime) -> Delivery:
    """Put the person's number or e-mail address right, and send again what still matters.

    Corrected already, nothing changes. Raises NotYours, BadAddress, NotCorrectable, Stale.
    """
    fishery = fishery_of(delivery)
    require_role(by, fishery, *Membership.KEEPERS)
    row = _locked(delivery)
    if row.closing == Delivery.Closing.CORRECTED:
        return row
    checked = _checked(row, address)
    _change(row, checked, fishery, by=by, now=now)
    failed = _same_address(row, fishery, now=now)
    again = [_again(each, checked, now=now) for each in _newest_that_matter(failed, now=now)]
    _close(failed, row, Delivery.Closing.CORRECTED, by=by, now=now)
    Delivery.objects.bulk_create(again, ignore_conflicts=True)
    facts = {"channel": row.channel, "person": row.person, "sent_again": len(again)}
    record("correct address of undelivered message", row, by=by, now=now, fishery=fishery, after=facts)
    row.refresh_from_db()
    return row


def expire_undelivered(*, now: dt.datetime) -> int:
    """Close what can no longer matter: its cause ended a day ago, or it is a week old. Idempotent; how many."""
    ended = now - AFTER_ITS_CAUSE
    over = (
        Q(written_at__lt=now - LONGEST_KEPT) | Q(alarm__cleared_at__lt=ended) | Q(recall__ended_at__lt=ended)
        | Q(alarm__isnull=True, outing__checked_out_at__lt=ended) | Q(drill__answered_at__lt=ended)
    )  # fmt: skip
    with transaction.atomic():
        rows = list(undelivered(now=now).filter(over).select_related("fishery"))
        Delivery.objects.filter(pk__in=[row.pk for row in rows], closed_at__isnull=True).update(
            closed_at=now, closing=Delivery.Closing.EXPIRED
        )
        record_all(
            [
                entry("expire undelivered message", row, by=None, now=now, fishery=row.fishery,
                      after={"channel": row.channel, "person": row.person})
                for row in rows
            ]
        )  # fmt: skip
    return len(rows)


def fishery_of(delivery: Delivery) -> Fishery:
    """Whose message it is; one written before fisheries were kept with it is asked of what it is about."""
    if delivery.fishery is not None:
        return delivery.fishery
    if delivery.alarm_id:
        return delivery.alarm.outing.beat.fishery
    if delivery.outing_id:
        return delivery.outing.beat.fishery
    return delivery.recall.beat.fishery if delivery.recall_id else delivery.drill.fishery


def still_matters(delivery: Delivery, *, now: dt.datetime) -> bool:
    """Whether sending it again would still tell somebody something."""
    if delivery.about == Delivery.About.OVERDUE:
        return delivery.alarm is not None and delivery.alarm.cleared_at is None
    if delivery.about == Delivery.About.DRILL:
        return delivery.drill is not None and delivery.drill.answered_at is None
    outing = delivery.outing or (delivery.alarm.outing if delivery.alarm else None)
    if outing is None or outing.checked_out_at is not None:
        return False
    if delivery.about == Delivery.About.RECALL:
        return delivery.recall is not None and delivery.recall.ended_at is None
    if delivery.about == Delivery.About.REMINDER:
        return outing.due_back_at > now
    return delivery.about in (Delivery.About.MESSAGE, Delivery.About.CHECK_IN, Delivery.About.RESUMED)


# --- Closing -----------------------------------------------------------------------------------


def _locked(delivery: Delivery) -> Delivery:
    related = ("alarm__outing__beat__fishery", "outing__beat__fishery", "recall__beat__fishery", "drill__fishery")
    return locked(Delivery.objects.select_related(*related), pk=delivery.pk)


def _same_address(delivery: Delivery, fishery: Fishery, *, now: dt.datetime) -> list[Delivery]:
    """Every message that failed at the address, the newest first; text and call share a number."""
    channels = BY_TELEPHONE if delivery.channel in BY_TELEPHONE else (delivery.channel,)
    of_fishery = (
        Q(alarm__outing__beat__fishery=fishery) | Q(outing__beat__fishery=fishery)
        | Q(recall__beat__fishery=fishery) | Q(drill__fishery=fishery)
    )  # fmt: skip
    rows = undelivered(now=now).filter(of_fishery, recipient=delivery.recipient, channel__in=channels)
    return list(rows.select_related("alarm", "outing", "recall", "drill").order_by("-written_at", "-rank", "id"))


def _close(rows: list[Delivery], row: Delivery, how: str, *, by: User, now: dt.datetime) -> None:
    pks = {row.pk, *(each.pk for each in rows)}
    Delivery.objects.filter(pk__in=pks, closed_at__isnull=True).update(closed_at=now, closed_by=by, closing=how)


# --- Correcting --------------------------------------------------------------------------------


def _checked(delivery: Delivery, address: str) -> str:
    """The address as it is kept. Raises BadAddress."""
    text = address.strip()
    if delivery.channel not in TO_PEOPLE:
        raise NotCorrectable(say("Only an e-mail address or a telephone number can be corrected here."))
    try:
        if delivery.channel == Channel.EMAIL:
            validate_email(text)
            text = text.lower()
        else:
            text = e164(text)
    except ValidationError:
        raise BadAddress(say("Write an e-mail address, such as name@example.org.")) from None
    except ValueError:
        raise BadAddress(
            say("Write a telephone number that can be rung, with its country code, such as +44 1632 960123.")
        ) from None
    if text == delivery.recipient:
        raise BadAddress(say("That is the address that failed. Write the right one, or acknowledge the message."))
    return text


def _change(delivery: Delivery, address: str, fishery: Fishery, *, by: User, now: dt.datetime) -> None:
    whose, _, number = delivery.person.partition(":")
    by_mail = delivery.channel == Channel.EMAIL
    if whose in ("guest", "contact"):
        guest = Guest.objects.filter(pk=number, fishery=fishery).first()
        field = "emergency_contact_phone" if whose == "contact" else "email" if by_mail else "phone"
        if guest is not None and not (whose == "contact" and by_mail):
            return _change_guest(guest, {field: address}, by=by, now=now)
    if whose == "user" and not by_mail:
        return _change_keeper(int(number), address, fishery, by=by, now=now)
    raise NotCorrectable(
        say("This is the e-mail address somebody signs in with. Whoever runs the service changes it; "
            "tell the person by telephone, then acknowledge the message.")
    )  # fmt: skip


def _change_guest(guest: Guest, facts: dict[str, str], *, by: User, now: dt.datetime) -> None:
    try:
        with transaction.atomic():
            change_guest(guest, facts=facts, version=guest.version, by=by, now=now)
    except IntegrityError:
        raise BadAddress(
            say("Another guest of this fishery has that e-mail address. Write a different one.")
        ) from None


def _change_keeper(pk: int, phone: str, fishery: Fishery, *, by: User, now: dt.datetime) -> None:
    """A keeper's own number; an owner also that of a keeper of this fishery alone."""
    parts = Membership.objects.filter(user=pk)
    with lowered():  # the question is whether they have a part at other fisheries
        theirs_alone = parts.filter(fishery=fishery).exists() and not parts.exclude(fishery=fishery).exists()
    owns = Membership.objects.filter(user=by, fishery=fishery, role=Membership.Role.OWNER).exists()
    if by.pk != pk and not (owns and theirs_alone):
        raise NotCorrectable(
            say("Only they themselves or the owner can change this number. Tell the person by telephone, "
                "then acknowledge the message.")
        )  # fmt: skip
    user = User.objects.get(pk=pk)
    user.phone = phone
    user.save(update_fields=["phone"])
    record("correct keeper's number", user, by=by, now=now, fishery=fishery)


def _newest_that_matter(rows: list[Delivery], *, now: dt.datetime) -> list[Delivery]:
    """Of each cause and channel the newest message that still matters: nobody needs a dozen repeats."""
    found: dict[tuple, Delivery] = {}
    for row in rows:
        alarm = row.alarm
        cause = (
            (alarm.outing_id, alarm.kind, alarm.deadline_number, alarm.occasion)
            if alarm
            else (row.outing_id, row.recall_id, row.drill_id)
        )
        if still_matters(row, now=now):
            found.setdefault((row.about, row.channel, *cause), row)
    return list(found.values())


def _again(delivery: Delivery, address: str, *, now: dt.datetime) -> Delivery:
    kept = ("alarm_id", "outing_id", "recall_id", "drill_id", "fishery_id", "priority", "about", "turn", "channel",
            "person", "rank", "subject", "body")  # fmt: skip
    return Delivery(
        id=uuid.uuid4(), recipient=address, written_at=now, next_try_at=now,
        **{name: getattr(delivery, name) for name in kept},
    )  # fmt: skip
