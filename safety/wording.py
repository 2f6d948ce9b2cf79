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


@dataclass(frozen=True)
class Words:
    subject: str
    body: str


def overdue(missing: Missing, *, now: dt.datetime) -> Words:
    """The alarm, with what to do first and what the emergency services ask for."""
    late = max(int((now - missing.due_back_at).total_seconds() // 60), 0)
    company = "ALONE" if missing.alone else "in company"
    facts = [
        ("Who", _joined(missing.name, missing.phone)),
        ("Company", company),
        ("Where", _joined(f"River {missing.river}", missing.fishery, missing.beat, missing.pool)),
        ("Position", missing.position or "not recorded: tell them the beat and the access"),
        ("Way in", missing.access),
        ("Plan", missing.plan),
        ("Went out", _local(missing.checked_in_at, missing.zone)),
        ("Due back", f"{_local(missing.due_back_at, missing.zone)} ({late} min ago when this was written)"),
        ("Their contact", missing.contact),
    ]
    service = ask_for(tidal=missing.tidal) + (" (the tide reaches this beat)" if missing.tidal else "")
    body = "\n".join(
        [
            f"{missing.name} has not checked out. Nothing has been heard since check-in.",
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
    return Words(f"OVERDUE: {missing.name}, {missing.beat}, {company}", body)


def all_clear(
    missing: Missing, *, checked_out_at: dt.datetime | None, new_time_at: dt.datetime | None = None
) -> Words:
    """The end of an alarm: they were checked out, or gave a new time back and are still out."""
    was_due = f"Due back was {_local(missing.due_back_at, missing.zone)}."
    if checked_out_at is None and new_time_at is not None:
        new_time = _local(new_time_at, missing.zone)
        news = f"{missing.name} has a new time back: {new_time}. {was_due} They are still out."
        subject = f"Heard from: {missing.name}, {missing.beat}, still out"
    elif checked_out_at is not None:
        news = f"{missing.name} was checked out at {_local(checked_out_at, missing.zone)}. {was_due}"
        subject = f"Back: {missing.name}, {missing.beat}"
    else:
        raise ValueError("an alarm is over when somebody is back or has a new time")
    body = f"{news}\n\nAlarm {missing.alarm} is over. If you rang 999 or 112, tell them now."
    return Words(subject, body)


def _local(instant: dt.datetime, zone: ZoneInfo) -> str:
    return words.instant(instant.astimezone(zone))


def _joined(*texts: str) -> str:
    return ", ".join(text for text in texts if text)
