"""What an alarm says. Facts, how old they are, and what to do; never that anybody is safe."""

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from beats.emergency import ask_for
from beats.shared import words

CALLED_NOBODY = "Rodtally is not an emergency service and has called nobody else."


@dataclass(frozen=True)
class Missing:
    """What is known about somebody overdue. Instants are aware; texts may be empty."""

    alarm: int
    name: str
    phone: str
    contact: str
    alone: bool
    fishery: str
    river: str
    beat: str
    pool: str
    access: str
    position: str
    tidal: bool
    plan: str
    checked_in_at: dt.datetime
    due_back_at: dt.datetime
    zone: ZoneInfo
    heard_at: dt.datetime | None = None


@dataclass(frozen=True)
class Words:
    subject: str
    body: str


OPENING = {
    "overdue": ("OVERDUE", "has not checked out. Nothing has been heard since check-in."),
    "contact": ("NOT HEARD FROM", "should have said that all is well and has not."),
    "help": ("HELP", "ASKS FOR HELP."),
    "recall": ("RECALL NOT ANSWERED", "was called off the water and has not answered."),
}


def overdue(
    missing: Missing, *, now: dt.datetime, kind: str = "overdue", stage: int = 1, turn: int = 0, last: int = 1
) -> Words:
    """The alarm, with what to do first and what the emergency services ask for."""
    head, news = OPENING[kind]
    if kind == "overdue" and missing.heard_at and missing.heard_at > missing.checked_in_at:
        news = f"has not checked out. Last heard from at {_local(missing.heard_at, missing.zone)}."
    late = max(int((now - missing.due_back_at).total_seconds() // 60), 0)
    company = "ALONE" if missing.alone else "in company"
    facts = [
        ("Who", _joined(missing.name, missing.phone)),
        ("Company", company),
        ("Where", _joined(f"River {missing.river}", missing.fishery, missing.beat, missing.pool)),
        ("Position", missing.position or "not recorded: tell them the beat and the access"),
        ("Way in", missing.access),
        ("Plan", missing.plan),
        ("On the water since", _local(missing.checked_in_at, missing.zone)),
        (
            "Due off the water",
            f"{_local(missing.due_back_at, missing.zone)} ({late} min ago when this was written)",
        ),
        ("Their contact", missing.contact),
    ]
    service = ask_for(tidal=missing.tidal) + (" (the tide reaches this beat)" if missing.tidal else "")
    body = "\n".join(
        [
            f"{missing.name} {news}",
            *([f"This is stage {stage} of {last}: nobody has answered for it yet."] if stage > 1 else []),
            "",
            f"1. Ring {missing.phone or missing.name} now. Then ring whoever is nearest the water.",
            "2. If there is no answer, go and look, not alone, and do not go into the water.",
            f"3. If you cannot find them, or fear for them, ring 999 or 112 and ask for {service}.",
            "",
            *(f"{label}: {text}" for label, text in facts if text),
            "",
            f"Alarm {missing.alarm}. When they are found, check them out, so that everybody is told.",
            CALLED_NOBODY,
        ]
    )
    again = f"Stage {stage}" + (f", said again {turn}" if turn else "") + ": " if stage > 1 or turn else ""
    return Words(f"{again}{head}: {missing.name}, {missing.beat}, {company}", body)


def to_the_angler(missing: Missing, *, kind: str, code: str) -> Words:
    """What somebody who may only be late is told."""
    due = f"{missing.due_back_at.astimezone(missing.zone):%H:%M}"
    asked = {
        "overdue": f"You were due out of the water at {due} and nobody has heard from you.",
        "contact": "You were to say that all is well and nobody has heard from you.",
        "help": "Your call for help has been passed on to the keepers.",
        "recall": "You were called off the water and have not answered.",
    }[kind]
    how = f"Check out, or text OUT {code}, LATE 30 {code} or OK {code}." if code else "Check out, or say so now."
    danger = f"In danger ring 999 or 112 and ask for {ask_for(tidal=missing.tidal)}."
    return Words(f"{missing.beat}: answer now", f"{asked} {how} {danger}")


def to_the_contact(missing: Missing, *, kind: str, keepers_phone: str) -> Words:
    """What a person outside the fishery is told: who, since when, and whom to ring."""
    due = f"{missing.due_back_at.astimezone(missing.zone):%H:%M}"
    news = {
        "overdue": f"was due off the river at {due} and has not been heard from",
        "contact": "has missed an agreed contact on the river",
        "help": "has asked for help on the river",
        "recall": "was called off the river and has not answered",
    }[kind]
    ring = f" Ring the fishery on {keepers_phone}." if keepers_phone else ""
    body = (
        f"{missing.name} {news} ({missing.fishery}, {missing.beat}). You are named as the one to tell. If you "
        f"have heard"
        f" from {missing.name}, say so.{ring} If you fear for them ring 999 or 112 and ask for"
        f" {ask_for(tidal=missing.tidal)}. {CALLED_NOBODY}"
    )
    return Words(f"{missing.name} has not been heard from", body)


def short(words: Words, missing: Missing, *, stage: int) -> str:
    """A keeper's text message or call: one breath, and the number of the alarm so that a repeat is seen."""
    due = f"{missing.due_back_at.astimezone(missing.zone):%H:%M}"
    return (
        f"{words.subject}. Due {due}. {missing.pool or missing.beat}. Ring {missing.phone or missing.name}. "
        f"Alarm {missing.alarm}, stage {stage}. Answer for it by name in Rodtally. {CALLED_NOBODY}"
    )


def reminder(missing: Missing, *, code: str, alarm_at: dt.datetime) -> Words:
    """Before due back, to the angler."""
    due, alarm = (f"{at.astimezone(missing.zone):%H:%M}" for at in (missing.due_back_at, alarm_at))
    body = (
        f"You are due out of the water at {due}. Check out then, or text OUT {code}; for half an hour more text "
        f"LATE 30 {code}. If nothing is heard by {alarm}, others are told."
    )
    return Words(f"Due off the water at {due}", body)


def called_in(missing: Missing, *, reason: str, code: str, answer_by: dt.datetime) -> Words:
    """A recall, to one rod."""
    by = f"{answer_by.astimezone(missing.zone):%H:%M}"
    body = (
        f"Come out of the water now: {reason} Answer by {by}: check out, or text OUT {code} when you are out, "
        f"OK {code} "
        f"if you are on your way. In danger ring 999 or 112 and ask for {ask_for(tidal=missing.tidal)}. "
        "This message cannot see the river: if what you see is worse, go by that."
    )
    return Words(f"COME OFF THE WATER: {missing.beat}", body)


def heard(missing: Missing, *, kind: str) -> Words:
    """An alarm is over, though they are still out: they answered."""
    what = {"contact": "has said that all is well", "recall": "has been heard from since the recall"}[kind]
    body = (
        f"{missing.name} {what}. They are still on the water, due off it at "
        f"{_local(missing.due_back_at, missing.zone)}.\n\n"
        f"Alarm {missing.alarm} is over. If you rang 999 or 112, tell them now."
    )
    return Words(f"Heard from: {missing.name}, {missing.beat}, still on the water", body)


def all_clear(
    missing: Missing, *, checked_out_at: dt.datetime | None, new_time_at: dt.datetime | None = None
) -> Words:
    """The end of an alarm: they were checked out, or gave a new time back and are still out."""
    was_due = f"They were due off the water at {_local(missing.due_back_at, missing.zone)}."
    if checked_out_at is None and new_time_at is not None:
        new_time = _local(new_time_at, missing.zone)
        news = f"{missing.name} has a new time off the water: {new_time}. {was_due} They are still on the water."
        subject = f"Heard from: {missing.name}, {missing.beat}, still on the water"
    elif checked_out_at is not None:
        news = f"{missing.name} was checked out at {_local(checked_out_at, missing.zone)}. {was_due}"
        subject = f"Off the water: {missing.name}, {missing.beat}"
    else:
        raise ValueError("an alarm is over when somebody is off the water or has a new time")
    body = f"{news}\n\nAlarm {missing.alarm} is over. If you rang 999 or 112, tell them now."
    return Words(subject, body)


def on_the_water_again(missing: Missing, *, undone_at: dt.datetime) -> Words:
    """After an undone check-out, to those who were sent the all-clear."""
    undone, due = (_local(at, missing.zone) for at in (undone_at, missing.due_back_at))
    body = (
        f"The check-out of {missing.name} was undone at {undone}. They are on the water, and were due off it "
        f"at {due}. Do not rely on the message that alarm {missing.alarm} is over. "
        f"Ring {missing.phone or missing.name} now. If 999 or 112 was told that they are off the water, ring "
        f"again. "
        f"{CALLED_NOBODY}"
    )
    return Words(f"ON THE WATER AGAIN: {missing.name}, {missing.beat}", body)


def _local(instant: dt.datetime, zone: ZoneInfo) -> str:
    return words.instant(instant.astimezone(zone))


def _joined(*texts: str) -> str:
    return ", ".join(text for text in texts if text)
