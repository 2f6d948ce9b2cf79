"""Texts from anglers: acted on once understood, kept word for word, and shown or sent to a keeper."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.db.models import Q, QuerySet

from beats.models import Membership
from beats.phones import e164
from beats.queries import zone_of
from beats.shared.limits import TooOften, spend
from beats.shared.refusals import Refusal
from bookings.text_codes import standing_codes
from safety import texts
from safety.models import Alarm, RecallCall
from safety.services.angler_messages import RECENT, Sender, keep, sender_of, tell_keepers
from safety.services.answering import ask_for_help
from safety.services.calling import NotCalled, answer_recall
from sessions.models import Outing
from sessions.services.by_text import due_words, start_by_text
from sessions.services.outings import AlreadyBack, AlreadyOut, check_out, extend_by, say_fine

HOUR = dt.timedelta(hours=1)
CODES_AN_HOUR = 10
"""A code is one of 9000 and a number can be forged: in ten hours so many an hour find it in 1 case of 90."""
TOO_OFTEN = (
    "That number has sent too many codes within the hour. Nothing was changed. Ring the fishery; in danger "
    "ring 999 or 112. HELP is still heard."
)
UNKNOWN = "We know no one on the water under that number and code. Nothing was changed. "
UNKNOWN_ON = "You are NOT checked in: we know no one under that number and code. Ring the fishery. "
HELP_REPLY = "The keepers are being told. We have not rung 999: ring 999 or 112 if you can."
UNKNOWN_HELP = "We do not know who you are. Ring 999 or 112."


@dataclass(frozen=True)
class Told:
    """What became of an event, and what the gateway may text back (empty: nothing)."""

    outcome: str
    reply: str = ""
    read_by_keeper: bool = False
    """Whether a person must read the text; else the service has done what it asks."""
    notify: bool = False
    """Whether the keeper on duty is told of it now, rather than shown it."""


Answer = tuple[Told, Outing | None]


def take_text(data: dict[str, Any], *, now: dt.datetime) -> Told:
    """Act on a text, keep its words, and tell a keeper of what a person must read."""
    try:
        number = e164(str(data.get("from") or ""))
    except ValueError:
        number = ""
    text = texts.clean(str(data.get("text") or ""))
    asked, sender = texts.understand(text), sender_of(number, now=now)
    told, outing = _answered(sender, asked, text, now)
    kept = keep(
        sender, outing, text=text, outcome=told.outcome, understood=not told.read_by_keeper, now=now
    )  # fmt: skip
    acted = isinstance(asked, texts.Asked) and asked.verb is not texts.Verb.HELP
    if told.notify or (acted and texts.says_more(text)):
        help_wanted = outing is None and isinstance(asked, texts.Asked) and asked.verb is texts.Verb.HELP
        for message in kept:
            tell_keepers(
                message, now=now, help_wanted=help_wanted, done="" if told.read_by_keeper else told.outcome
            )
    return told


def _answered(sender: Sender, asked: texts.Asked | str, text: str, now: dt.datetime) -> Answer:
    """What became of a text, and the outing it is about where one was found by its code."""
    if isinstance(asked, str):
        return Told("not understood", asked, read_by_keeper=True, notify=sender.outing is not None), None
    if asked.verb is texts.Verb.HELP:
        return _help(sender, asked, text, now)
    if asked.verb is texts.Verb.AMBIGUOUS:
        return _ambiguous(asked), None
    if not sender.number:
        return Told("from no number", read_by_keeper=True), None
    try:
        return _on(sender, asked, now) if asked.verb is texts.Verb.ON else _about_one(sender, asked, now)
    except Refusal as refusal:
        notify = asked.verb is texts.Verb.ON and not isinstance(refusal, AlreadyOut | TooOften)
        return Told(f"refused: {refusal.code}", refusal.sentence, read_by_keeper=True, notify=notify), None


def _about_one(sender: Sender, asked: texts.Asked, now: dt.datetime) -> Answer:
    """OFF, LATE and OK name an outing by its code."""
    outing = _outing_of(sender.number, asked, now)
    if outing is None:
        why = "no such code from that number" if asked.code else "no code"
        return Told(why, UNKNOWN + texts.HOW, read_by_keeper=True), None
    try:
        return _act(outing, asked, now), outing
    except AlreadyBack as refusal:
        return Told("already back", refusal.sentence), outing


def _ambiguous(asked: texts.Asked) -> Told:
    """OUT and IN change nothing: for some they mean gone out, for others back on the bank."""
    code = asked.code or "and your code"
    reply = (
        f"Nothing was changed. Send OFF {code} if you have left the water, ON {code} if you are going on it. "
        "In danger ring 999 or 112."
    )
    return Told("ambiguous: OUT or IN", reply, read_by_keeper=True)


def _help(sender: Sender, asked: texts.Asked, text: str, now: dt.datetime) -> Answer:
    """A call for help, of an outing that is open, ended within a day, or named by its code from any telephone."""
    outing = _needs_help(sender, asked.code, now)
    if outing is None:
        known = bool(sender.guests)
        outcome = "HELP from somebody not on the water" if known else "HELP from an unknown number"
        return Told(outcome, HELP_REPLY if known else UNKNOWN_HELP, read_by_keeper=True, notify=True), None
    again = Alarm.objects.filter(outing=outing, kind=Alarm.Kind.HELP, cleared_at__isnull=True).exists()
    words = "" if texts.only_help(text) else text
    ask_for_help(outing, by=None, now=now, words=words)
    return Told("help", HELP_REPLY, read_by_keeper=True, notify=bool(again and words)), outing


def _needs_help(sender: Sender, code: str, now: dt.datetime) -> Outing | None:
    """The outing its code names, if the sender's own or one they keep; the sender's own; any of that code."""
    named: list[Outing] = []
    if code:
        try:
            _count_a_code(sender.number or "no number", now)
            named = list(_open_ones().filter(code=code)[:2])
        except TooOften:
            named = []
    if sender.number:
        theirs = _open_ones().filter(_own(sender.number) | _kept(sender.number), pk__in=[one.pk for one in named])
        if mine := theirs.first():
            return mine
    return sender.outing or (named[0] if len(named) == 1 else None)


def _own(number: str) -> Q:
    return Q(guest__phone=number)


def _kept(number: str) -> Q:
    """Outings on a water whose keeper has that number."""
    members = "beat__fishery__memberships__"
    return Q(**{f"{members}user__phone": number, f"{members}role__in": Membership.KEEPERS,
                f"{members}user__is_active": True})  # fmt: skip


def _on(sender: Sender, asked: texts.Asked, now: dt.datetime) -> Answer:
    """ON with the guest's standing code, or with that of an outing their plan has begun."""
    if not asked.code:
        return Told("no code", UNKNOWN_ON + texts.HOW, read_by_keeper=True, notify=bool(sender.guests)), None
    _count_a_code(sender.number, now)
    guests = [guest for guest in sender.guests if asked.code in standing_codes(guest.pk)]
    out = sender.outing if sender.on_the_water and sender.outing and sender.outing.code == asked.code else None
    guest = out.guest if out else guests[0] if len(guests) == 1 else None
    if guest is None:
        notify = bool(sender.guests)
        return Told(
            "no such code from that number", UNKNOWN_ON + texts.HOW, read_by_keeper=True, notify=notify
        ), None
    outing = start_by_text(guest, now=now)
    company = "alone" if outing.alone else "in company"
    reply = (
        f"{guest.name} is on the water: {outing.beat.name}, {company}, back by {due_words(outing)}. Send OFF "
        f"{outing.code} when you are off the water, LATE 30 {outing.code} for more time. "
        "In danger ring 999 or 112."
    )
    return Told("on", reply), outing


def _open_ones() -> QuerySet[Outing]:
    return Outing.objects.filter(checked_out_at__isnull=True).select_related("guest", "beat__fishery", "pool")


def _count_a_code(number: str, now: dt.datetime) -> None:
    try:
        spend("text a code from", number, allowed=CODES_AN_HOUR, each=HOUR, now=now)
    except TooOften:
        raise TooOften(TOO_OFTEN) from None


def _outing_of(number: str, asked: texts.Asked, now: dt.datetime) -> Outing | None:
    """The open outing a text is about: the angler's own, or one whose code a keeper of the water names.

    Without its code nothing is heard, since a number can be forged. For OFF alone an outing that has ended counts
    too, so that the same text sent twice gets the same answer.
    """
    own = _own(number)
    if not asked.code:
        return None
    _count_a_code(number, now)
    found = list(_open_ones().filter(own | _kept(number), code=asked.code).distinct()[:2])
    if not found and asked.verb is texts.Verb.OFF:
        ended = Outing.objects.filter(own, code=asked.code, checked_out_at__gte=now - RECENT)
        found = list(ended.select_related("guest", "beat__fishery", "pool").order_by("-checked_out_at")[:1])
    return found[0] if len(found) == 1 else None


def _act(outing: Outing, asked: texts.Asked, now: dt.datetime) -> Told:
    name, zone = outing.guest.name, zone_of(outing.beat.fishery)
    if asked.verb is texts.Verb.OFF:
        if outing.checked_out_at is not None:
            return Told(
                "off before", f"{name} is off the water since {outing.checked_out_at.astimezone(zone):%H:%M}."
            )
        check_out(outing, by=None, now=now)
        return Told("off", f"{name} is off the water. The watch has ended.")
    if asked.verb is texts.Verb.LATE:
        changed = extend_by(outing, minutes=asked.minutes, by=None, now=now)
        due = changed.due_back_at.astimezone(zone)
        return Told(
            "late", f"{name}: due back {due:%H:%M} now. Send OFF {outing.code} when you are off the water."
        )
    say_fine(outing, by=None, now=now)
    for call in RecallCall.objects.filter(outing=outing, recall__ended_at__isnull=True, answered_at__isnull=True):
        try:
            answer_recall(call.recall, outing, by=None, now=now)
        except NotCalled:
            continue
    return Told("ok", f"{name}: heard. Your time back stays {outing.due_back_at.astimezone(zone):%H:%M}.")
