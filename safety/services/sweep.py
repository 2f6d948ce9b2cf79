"""The sweep: who is past the time, and is it noted? Asked of the database, again and again.

1. It reads the open outings whose `alarm_at` has passed and that have no alarm for this deadline.
2. For each, in a transaction of its own, it takes the row (a check-out takes the same row), looks
   again, and writes the alarm together with every message about it.
3. Then it does the same for alarms whose angler has come back or given a new time: the all-clear.
4. It notes its pulse.

Run by the scheduler, by `manage.py watch`, or by both at once: a second run finds nothing to do, and
the unique constraint on alarms stands behind that. There is no look-back limit: after any outage the
first sweep raises all that is due. A row that fails is logged and the others go on.
"""

import datetime as dt
import logging
from collections.abc import Callable
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import Exists, F, OuterRef, Q, QuerySet

from beats.audit import record
from beats.models import Membership
from beats.shared.rows import locked_unless_busy
from safety import wording
from safety.models import Alarm, Delivery, Pulse
from sessions.models import Outing

log = logging.getLogger("rodtally.watch")
FIRST_STAGE = 1


@dataclass(frozen=True)
class Swept:
    """What one sweep did."""

    raised: int
    cleared: int
    failed: int


def sweep(*, now: dt.datetime) -> Swept:
    """Raise every alarm that is due at `now` and clear every one that is over. Idempotent."""
    raised, faults = _each(due_outings(now), lambda pk: raise_alarm(pk, now=now))
    cleared, more = _each(over_alarms(now), lambda pk: clear_alarm(pk, now=now))
    if not faults + more:
        beat_pulse("sweep", now=now)
    return Swept(raised, cleared, faults + more)


def due_outings(now: dt.datetime) -> QuerySet[Outing]:
    """Open outings past their alarm time without an alarm for their present deadline."""
    noted = Alarm.objects.filter(
        outing=OuterRef("pk"), deadline_number=OuterRef("deadline_number"), stage=FIRST_STAGE
    )
    return Outing.objects.filter(~Exists(noted), checked_out_at__isnull=True, alarm_at__lte=now).order_by(
        "alarm_at", "id"
    )


def over_alarms(now: dt.datetime) -> QuerySet[Alarm]:
    """Alarms not yet cleared whose angler is back, or has been heard from and is due at a time to come.

    While a new time has passed too, nothing reassuring is said.
    """
    new_time = Q(outing__deadline_number__gt=F("deadline_number"), outing__alarm_at__gt=now)
    return Alarm.objects.filter(
        Q(outing__checked_out_at__isnull=False) | new_time, cleared_at__isnull=True
    ).order_by("id")


@transaction.atomic
def raise_alarm(outing_id: int, *, now: dt.datetime) -> bool:
    """One alarm and its messages, in one commit. False when another was quicker or there is no need."""
    related = Outing.objects.select_related("guest", "beat__fishery", "pool")
    outing = locked_unless_busy(related, pk=outing_id, checked_out_at__isnull=True, alarm_at__lte=now)
    if outing is None:
        return False
    alarm, made = Alarm.objects.get_or_create(
        outing=outing,
        deadline_number=outing.deadline_number,
        stage=FIRST_STAGE,
        defaults={"due_back_at": outing.due_back_at, "raised_at": now},
    )
    if made:
        _write(alarm, Delivery.About.OVERDUE, wording.overdue(_missing(alarm), now=now), now=now)
        facts = {"deadline_number": alarm.deadline_number, "stage": alarm.stage}
        record("raise alarm", alarm, by=None, now=now, fishery=outing.beat.fishery, after=facts)
    return made


@transaction.atomic
def clear_alarm(alarm_id: int, *, now: dt.datetime) -> bool:
    """One all-clear to everybody who was told, in one commit."""
    related = Alarm.objects.select_related("outing__guest", "outing__beat__fishery", "outing__pool")
    alarm = locked_unless_busy(related, pk=alarm_id, cleared_at__isnull=True)
    if alarm is None or not over_alarms(now).filter(pk=alarm_id).exists():
        return False
    outing = alarm.outing
    alarm.cleared_at = now
    alarm.save(update_fields=["cleared_at"])
    new_time = None if outing.checked_out_at else outing.due_back_at
    words = wording.all_clear(_missing(alarm), checked_out_at=outing.checked_out_at, new_time_at=new_time)
    _write(alarm, Delivery.About.ALL_CLEAR, words, now=now)
    record("clear alarm", alarm, by=None, now=now, fishery=alarm.outing.beat.fishery)
    return True


def beat_pulse(name: str, *, now: dt.datetime) -> None:
    """Note that a loop finished a round; an older clock never sets it back."""
    Pulse.objects.get_or_create(name=name, defaults={"beaten_at": now})
    Pulse.objects.filter(name=name, beaten_at__lt=now).update(beaten_at=now)


def _each(rows: QuerySet, act: Callable[[int], bool]) -> tuple[int, int]:
    done = failed = 0
    for pk in list(rows.values_list("pk", flat=True)):
        try:
            done += act(pk)
        except Exception:
            failed += 1
            log.exception("the watch could not handle %s %s; it will try again", rows.model.__name__, pk)
    return done, failed


def _write(alarm: Alarm, about: str, words: wording.Words, *, now: dt.datetime) -> None:
    Delivery.objects.bulk_create(
        Delivery(
            alarm=alarm, about=about, channel=channel, recipient=recipient, subject=words.subject[:200],
            body=words.body, written_at=now, next_try_at=now,
        )
        for channel, recipient in _to_tell(alarm, about)
    )  # fmt: skip


def _to_tell(alarm: Alarm, about: str) -> list[tuple[str, str]]:
    """Every keeper, and the log, which always takes it. The all-clear goes to whoever had the alarm."""
    if about == Delivery.About.ALL_CLEAR:
        had = alarm.deliveries.filter(about=Delivery.About.OVERDUE).order_by("channel", "recipient")
        return list(had.values_list("channel", "recipient"))
    fishery = alarm.outing.beat.fishery
    keepers = Membership.objects.filter(fishery=fishery, role__in=Membership.KEEPERS, user__is_active=True)
    emails = keepers.values_list("user__email", flat=True).order_by("id")
    return [*((Delivery.Channel.EMAIL, email) for email in emails), (Delivery.Channel.LOG, fishery.slug)]


def _missing(alarm: Alarm) -> wording.Missing:
    outing = alarm.outing
    guest, beat, pool, fishery = outing.guest, outing.beat, outing.pool, outing.beat.fishery
    contact = ", ".join(text for text in (guest.emergency_contact_name, guest.emergency_contact_phone) if text)
    position = ""
    if pool and pool.latitude is not None:
        position = f"{pool.latitude:.5f}, {pool.longitude:.5f} (latitude, longitude)"
    return wording.Missing(
        alarm=alarm.pk,
        name=_one_line(guest.name),
        phone=guest.phone,
        contact=_one_line(contact),
        alone=outing.alone,
        fishery=fishery.name,
        river=fishery.river,
        beat=_one_line(beat.name),
        pool=pool.name if pool else "",
        access=pool.access if pool else beat.meeting_point,
        position=position,
        tidal=beat.tidal,
        plan=_one_line(outing.plan),
        checked_in_at=outing.checked_in_at,
        due_back_at=alarm.due_back_at,
        zone=ZoneInfo(fishery.time_zone),
    )


def _one_line(text: str) -> str:
    """What people typed may not break a subject line, nor pass for a line of the alarm's own."""
    return " ".join(text.split())
