"""The drill: a test alarm, marked as one, that goes the whole way and notes how long each step took."""

import datetime as dt
from typing import Any

from django.db import transaction
from django.utils import timezone

from beats.audit import record
from beats.models import Fishery, Membership, User
from beats.queries import require_role
from beats.shared import words
from beats.shared.once import Once, make_once
from beats.shared.rows import locked, locked_unless_busy
from safety.ladder import By
from safety.models import Delivery, Drill
from safety.priority import Priority
from safety.services.people import Crew, Person

EVERY = dt.timedelta(days=7)


def start_drill(
    fishery: Fishery, *, by: User | None, now: dt.datetime, once: Once | None = None
) -> tuple[Drill, bool]:
    """Ask for a drill; the next sweep raises it. Returns (drill, new?). Raises NotYours."""
    if by is not None:
        require_role(by, fishery, *Membership.KEEPERS)

    def make(columns: dict[str, Any]) -> Drill:
        drill = Drill.objects.create(fishery=fishery, asked_at=now, **columns)
        record("start drill", drill, by=by, now=now, fishery=fishery)
        return drill

    return make_once(Drill, by=by, once=once, make=make)


def weekly_drills(*, now: dt.datetime) -> int:
    """A drill for every fishery with keepers that has had none for a week."""
    drilled = Drill.objects.filter(asked_at__gt=now - EVERY).values("fishery")
    kept = Fishery.objects.filter(memberships__role__in=Membership.KEEPERS).exclude(pk__in=drilled).distinct()
    fisheries = list(kept.order_by("id"))
    for fishery in fisheries:
        start_drill(fishery, by=None, now=now)
    return len(fisheries)


@transaction.atomic
def raise_drill(drill_id: int, *, now: dt.datetime) -> bool:
    """Write the drill's messages, or note that they have all left."""
    drill = locked_unless_busy(Drill.objects.select_related("fishery"), pk=drill_id, sent_at__isnull=True)
    if drill is None:
        return False
    if drill.raised_at is None:
        drill.raised_at = now
        Delivery.objects.bulk_create(_messages(drill, now))
        drill.save(update_fields=["raised_at"])
        record("raise drill", drill, by=None, now=now, fishery=drill.fishery)
        return True
    extra = Delivery.Channel.PUSH  # one that did not go leaves nobody untold
    rows = list(drill.deliveries.exclude(channel=extra).values_list("state", "sent_at"))
    gone = [at for state, at in rows if state in (Delivery.State.SENT, Delivery.State.DELIVERED)]
    if rows and len(gone) == sum(state != Delivery.State.NOT_NEEDED for state, _ in rows):
        drill.sent_at = max(gone)
        drill.save(update_fields=["sent_at"])
    return True


def _messages(drill: Drill, now: dt.datetime) -> list[Delivery]:
    said = (
        f"This is a DRILL of the watch at {drill.fishery.name}, asked for at "
        f"{words.instant(drill.asked_at.astimezone(timezone.get_current_timezone()))}. Nobody is missing. "
        "Answer it in Rodtally, so that the time until a person answers is known."
    )
    log = Person("log", "", "", "")
    crew = Crew(now)
    ways = [
        (person, way)
        for person in crew.keepers(drill.fishery)
        for way in (*person.ways((By.EMAIL, By.TEXT)), *crew.pushes(person))
    ]
    ways.append((log, (Delivery.Channel.LOG, drill.fishery.slug, 0)))
    return [
        Delivery(
            drill=drill, fishery_id=drill.fishery_id, priority=Priority.DRILL,
            about=Delivery.About.DRILL, channel=channel, recipient=recipient, person=person.key, rank=rank,
            subject=f"DRILL, nobody is missing: {drill.fishery.name}"[:200], body=said, written_at=now,
            next_try_at=now,
        )
        for person, (channel, recipient, rank) in ways
    ]  # fmt: skip


@transaction.atomic
def answer_drill(drill: Drill, *, by: User, now: dt.datetime) -> Drill:
    """A keeper answers. The first answer counts. Raises NotYours."""
    require_role(by, drill.fishery, *Membership.KEEPERS)
    drill = locked(Drill.objects.select_related("fishery"), pk=drill.pk)
    if drill.answered_at is None:
        drill.answered_at, drill.answered_by = now, by
        drill.save(update_fields=["answered_at", "answered_by"])
        record("answer drill", drill, by=by, now=now, fishery=drill.fishery)
    return drill
