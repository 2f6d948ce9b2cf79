"""What an alarm says. Facts, how old they are, and what to do; never that anybody is safe."""

import datetime as dt
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from beats.emergency import ask_for
from beats.shared import words

SHORT_QUOTE = 120
"""Characters of an angler's own words in a keeper's text message."""
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
    words: str = ""
    """What the angler wrote with a call for help."""
    meeting: str = ""
    text_in: str = ""
    """The number that takes the angler's texts; empty where none does, and then none is asked for."""


@dataclass(frozen=True)
class Words:
    subject: str
    body: str


@dataclass(frozen=True)
class Answer:
    """Who answered for an alarm last, when, and until when they promised to know."""

    name: str
    at: dt.datetime
    until: dt.datetime


def answered(answer: Answer | None, *, now: dt.datetime, zone: ZoneInfo) -> str:
    """What became of an alarm so far, for those who are told of it next."""
    if answer is None:
        return "nobody has answered for it yet."
    at, until = (f"{instant.astimezone(zone):%H:%M}" for instant in (answer.at, answer.until))
    if answer.until > now:
        return f"{answer.name} answered at {at} and is looking until {until}."
    return (
        f"{answer.name} answered at {at} and was to know by {until}. That time has run out and no result was "
        f"entered. Ring {answer.name} too."
    )


OPENING = {
    "overdue": ("OVERDUE", "has not checked out. Nothing has been heard since check-in."),
    "contact": ("NOT HEARD FROM", "should have said that all is well and has not."),
    "help": ("HELP", "ASKS FOR HELP."),
    "recall": ("RECALL NOT ANSWERED", "was called off the water and has not answered."),
}


def overdue(
    missing: Missing, *, now: dt.datetime, kind: str = "overdue", stage: int = 1, turn: int = 0, last: int = 1,
    answer: Answer | None = None,
) -> Words:  # fmt: skip
    """The alarm, with what to do first and what the emergency services ask for. `answer` is the last one given."""
    head, news = OPENING[kind]
    if kind == "overdue" and missing.heard_at and missing.heard_at > missing.checked_in_at:
        news = f"has not checked out. Last heard from at {_local(missing.heard_at, missing.zone)}."
    late = max(int((now - missing.due_back_at).total_seconds() // 60), 0)
    company = "ALONE" if missing.alone else "in company"
    ending = "check them out or close this call for help" if kind == "help" else "check them out"
    facts = [
        ("Who", _joined(missing.name, missing.phone or "no telephone number known: watched by time only")),
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
        ("Meeting", missing.meeting),
    ]
    service = ask_for(tidal=missing.tidal) + (" (the tide reaches this beat)" if missing.tidal else "")
    body = "\n".join(
        [
            f"{missing.name} {news}",
            *([f"Their words: {quoted(missing.words)}"] if missing.words else []),
            *(
                [f"This is stage {stage} of {last}: {answered(answer, now=now, zone=missing.zone)}"]
                if stage > 1 or answer
                else []
            ),
            "",
            _first_call(missing),
            "2. If there is no answer, go and look, not alone, and do not go into the water.",
            f"3. If you cannot find them, or fear for them, ring 999 or 112 and ask for {service}.",
            "",
            *(f"{label}: {text}" for label, text in facts if text),
            "",
            f"Alarm {missing.alarm}. When they are found, {ending}, so that everybody is told.",
            CALLED_NOBODY,
        ]
    )
    again = f"Stage {stage}" + (f", said again {turn}" if turn else "") + ": " if stage > 1 or turn else ""
    return Words(f"{again}{head}: {missing.name}, {missing.beat}, {company}", body)


def to_the_angler(missing: Missing, *, kind: str, code: str) -> Words:
    """What somebody who may only be late is told."""
    due = f"{missing.due_back_at.astimezone(missing.zone):%H:%M}"
    asked = {
        "overdue": f"You were due off the water at {due} and nobody has heard from you.",
        "contact": "You were to say that all is well and nobody has heard from you.",
        "help": "Your call for help has been passed on to the keepers.",
        "recall": "You were called off the water and have not answered.",
    }[kind]
    how = "Check out, or say so now."
    if code and missing.text_in:
        how = (
            f"Check out, or text OFF {code} if you are off the water, LATE 30 {code} for more time, "
            f"OK {code} if all is well."
        )
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


def short(
    words: Words, missing: Missing, *, stage: int, now: dt.datetime | None = None, answer: Answer | None = None
) -> str:
    """A keeper's text message or call: one breath, and the number of the alarm so that a repeat is seen."""
    so_far = f"{answered(answer, now=now, zone=missing.zone)} " if answer and now else ""
    due = f"{missing.due_back_at.astimezone(missing.zone):%H:%M}"
    wrote = f" Wrote: {quoted(missing.words[:SHORT_QUOTE])}" if missing.words else ""
    return (
        f"{words.subject}.{wrote} Due {due}. {missing.pool or missing.beat}. {_whom_to_ring(missing)} "
        f"Alarm {missing.alarm}, stage {stage}. {so_far}Answer for it by name in Rodtally. {CALLED_NOBODY}"
    )


def reminder(missing: Missing, *, code: str, alarm_at: dt.datetime) -> Words:
    """Before due back, to the angler."""
    due, alarm = (f"{at.astimezone(missing.zone):%H:%M}" for at in (missing.due_back_at, alarm_at))
    by_text = f", or text OFF {code}; for half an hour more text LATE 30 {code}" if missing.text_in else ""
    body = (
        f"You are due off the water at {due}. Check out then{by_text}. If nothing is heard by {alarm}, others "
        "are told."
    )
    return Words(f"Due off the water at {due}", body)


def called_in(missing: Missing, *, reason: str, code: str, answer_by: dt.datetime) -> Words:
    """A recall, to one rod."""
    by = f"{answer_by.astimezone(missing.zone):%H:%M}"
    by_text = (
        f", or text OFF {code} when you are off it, OK {code} if you are on your way" if missing.text_in else ""
    )
    body = (
        f"Come off the water now: {reason} Answer by {by}: check out{by_text}. "
        f"In danger ring 999 or 112 and ask for {ask_for(tidal=missing.tidal)}. "
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
        f"{_whom_to_ring(missing)} If 999 or 112 was told that they are off the water, ring again. "
        f"{CALLED_NOBODY}"
    )
    return Words(f"ON THE WATER AGAIN: {missing.name}, {missing.beat}", body)


def closed(missing: Missing, *, who: str, note: str) -> Words:
    """A keeper has closed a call for help."""
    body = (
        f"{who} has closed the call for help of {missing.name}: {note}\n\n"
        f"Alarm {missing.alarm} is over. If you rang 999 or 112, tell them now."
    )
    return Words(f"Closed: help for {missing.name}, {missing.beat}", body)


def angler_text(
    *,
    name: str,
    phone: str,
    where: str,
    on_the_water: bool,
    text: str,
    at: str,
    help_wanted: bool = False,
    done: str = "",
) -> Words:
    """To the keeper on duty: a text message that a person must read."""
    standing = "on the water" if on_the_water else "not on the water by our book"
    what = "ASKS FOR HELP by text; no alarm could be raised for them" if help_wanted else "a text to read"
    acted = f"Rodtally took it as {done.upper()}." if done else "Rodtally has changed nothing by it."
    body = (
        f"{name}, {standing} ({where}), wrote at {at}: {quoted(text)} "
        f"{acted} Ring {phone or name} now. {CALLED_NOBODY}"
    )
    return Words(f"{'HELP' if help_wanted else 'Text'}: {name}, {what}", body)


def quoted(text: str) -> str:
    """What somebody wrote, on one line, so that it cannot pass for a line of ours."""
    return f'"{" ".join(text.split())}"'


def _first_call(missing: Missing) -> str:
    if missing.phone:
        return f"1. Ring {missing.phone} now. Then ring whoever is nearest the water."
    who = "their contact" if missing.contact else "whoever is nearest the water"
    return (
        f"1. They cannot be rung: no number is known. Ring {who} now, and look at the meeting place and the cars."
    )


def _whom_to_ring(missing: Missing) -> str:
    if missing.phone:
        return f"Ring {missing.phone}."
    return (
        f"No number known. {missing.meeting}." if missing.meeting else "No number known: go and look, not alone."
    )


def _local(instant: dt.datetime, zone: ZoneInfo) -> str:
    return words.instant(instant.astimezone(zone))


def _joined(*texts: str) -> str:
    return ", ".join(text for text in texts if text)
