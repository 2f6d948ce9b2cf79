"""What happened, or nearly did: a timeline from the audit trail, kept apart from personal facts."""

import datetime as dt
import re
from typing import Any

from beats.audit import record, subject_of
from beats.models import AuditEntry, Fishery, Membership, User
from beats.queries import require_role
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from safety.models import Acknowledgement, Alarm, AnglerMessage, Delivery, Incident, RecallCall
from safety.services.writing import one_line
from sessions.models import Outing

NUMBER = re.compile(r"(?<![\d:-])(?:\+|0)\d[\d ()-]{7,}\d")
ADDRESS = re.compile(r"(?<!\S)\S+@\S+")


class NotOfThisFishery(Refusal):
    """An outing on another water."""

    code = "not-of-this-fishery"
    title = say("Not of this fishery")
    status = 400


def open_incident(
    fishery: Fishery, *, kind: str, title: str, what_happened: str, outing: Outing | None, by: User,
    now: dt.datetime, once: Once | None = None,
) -> tuple[Incident, bool]:  # fmt: skip
    """Note an incident or a near miss. Its timeline is copied now, without numbers and addresses."""
    require_role(by, fishery, *Membership.KEEPERS)
    if outing is not None and outing.beat.fishery_id != fishery.pk:
        raise NotOfThisFishery(
            say("That outing was on another water."), errors={"outing": [say("Not of this fishery.")]}
        )

    def make(columns: dict[str, Any]) -> Incident:
        incident = Incident.objects.create(
            fishery=fishery, kind=kind, title=one_line(title), what_happened=what_happened, outing=outing,
            opened_at=now, timeline=timeline(outing) if outing else [], **columns,
        )  # fmt: skip
        record("open incident", incident, by=by, now=now, fishery=fishery, after={"kind": kind})
        return incident

    return make_once(Incident, by=by, once=once, make=make)


def timeline(outing: Outing) -> list[dict[str, str]]:
    """Everything the book knows of one outing, by time: deeds, alarms, messages, answers. Six queries."""
    alarms = list(Alarm.objects.filter(outing=outing).order_by("id"))
    calls = list(RecallCall.objects.filter(outing=outing))
    subjects = [subject_of(row) for row in (outing, *alarms, *calls)]
    rows = [
        (row.at, row.verb, f"by {row.by}" if row.by_id else "by the watch", _facts(row.after))
        for row in AuditEntry.objects.filter(subject__in=subjects).select_related("by").order_by("at", "id")
    ]
    for sent in Delivery.objects.filter(alarm__in=alarms).order_by("alarm", "channel", "rank", "id"):
        at = sent.receipt_at or sent.sent_at or sent.written_at
        rows.append((at, f"{sent.about} by {sent.channel}", sent.state, f"{sent.attempts} tries"))
    rows += [
        (ack.at, "answered for", f"by {ack.name}", ack.note)
        for ack in Acknowledgement.objects.filter(alarm__in=alarms).order_by("id")
    ]
    rows += [
        (row.received_at, "text from the angler", row.outcome, one_line(row.text))
        for row in AnglerMessage.objects.filter(outing=outing).order_by("id")
    ]
    rows.sort(key=lambda row: row[0])
    return [
        {"at": at.isoformat(), "what": what, "who": without_numbers(who), "facts": without_numbers(facts)}
        for at, what, who, facts in rows
    ]


def _facts(after: dict[str, Any] | None) -> str:
    return ", ".join(f"{name} {value}" for name, value in (after or {}).items() if name not in ("guest", "outing"))


def without_numbers(text: str) -> str:
    """Telephone numbers and addresses of mail taken out; instants stay."""
    return ADDRESS.sub("(address)", NUMBER.sub("(number)", text))
