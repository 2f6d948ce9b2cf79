"""Who may see which alarms, who is on the board, and is the watch itself alive?"""

import datetime as dt
from dataclasses import dataclass

from django.db.models import OuterRef, Prefetch, Q, QuerySet, Subquery

from beats.models import Fishery, User
from beats.queries import fisheries_kept_by, fisheries_visible_to, zone_of
from beats.shared.phrases import say
from safety import board, levels
from safety.health import (
    TO_PEOPLE,
    WatchHealth,
    due_without_alarm,
    not_gone,
    sweep_fault,
    undelivered,
    watch_health,
)
from safety.models import (
    Acknowledgement,
    Alarm,
    AnglerMessage,
    AreaWarning,
    Delivery,
    Drill,
    Duty,
    Incident,
    Pulse,
    PushAddress,
    Recall,
    RecallCall,
)
from safety.off_water import Left, last_entries, left_lately
from safety.watch_limits import meeting
from sessions.models import Outing
from sessions.turn_warnings import warnings_of_today

TEXTS_SHOWN = dt.timedelta(hours=12)
MOST_TEXTS = 30
__all__ = ["WatchHealth", "due_without_alarm", "not_gone", "sweep_fault", "watch_health"]


def alarms_visible_to(user: User) -> QuerySet[Alarm]:
    """Keepers see their fishery's alarms; guests see none."""
    kept = Alarm.objects.filter(outing__beat__fishery__in=fisheries_kept_by(user))
    related = ("outing__guest", "outing__beat__fishery", "outing__pool")
    return kept.select_related(*related).prefetch_related("deliveries", "acknowledgements")


def same_occasion(alarm: Alarm) -> QuerySet[Alarm]:
    """Every stage of what an alarm is about."""
    return Alarm.objects.filter(
        outing=alarm.outing_id, kind=alarm.kind, deadline_number=alarm.deadline_number, occasion=alarm.occasion
    )


def told_of(alarm: Alarm) -> list[Delivery]:
    """Every message of an alarm's occasion, the newest first; the log is nobody. One query."""
    rows = Delivery.objects.filter(alarm__in=same_occasion(alarm)).exclude(channel=Delivery.Channel.LOG)
    return list(rows.order_by("-written_at", "channel", "recipient"))


def answers_of(alarm: Alarm) -> list[Acknowledgement]:
    """Who answered for an alarm's occasion, the newest first. One query."""
    return list(Acknowledgement.objects.filter(alarm__in=same_occasion(alarm)).order_by("-id"))


def open_alarms_of(fishery: Fishery) -> dict[int, int]:
    """The newest open alarm of each outing: outing to alarm. One query."""
    rows = Alarm.objects.filter(outing__beat__fishery=fishery, cleared_at__isnull=True)
    return dict(rows.order_by("stage", "id").values_list("outing_id", "pk"))


def help_asked_at(outing: Outing) -> dt.datetime | None:
    """Since when the angler's call for help stands. One query."""
    asked = Alarm.objects.filter(outing=outing, kind=Alarm.Kind.HELP, cleared_at__isnull=True)
    return asked.order_by("raised_at").values_list("raised_at", flat=True).first()


def recalls_visible_to(user: User) -> QuerySet[Recall]:
    """Keepers see their fishery's recalls; a guest sees those that called them."""
    seen = Recall.objects.filter(beat__fishery__in=fisheries_kept_by(user)) | Recall.objects.filter(
        pk__in=RecallCall.objects.filter(outing__guest__user=user).values("recall")
    )
    mine = Q(outing__guest__user=user) | Q(recall__beat__fishery__in=fisheries_kept_by(user))
    calls = RecallCall.objects.filter(mine).select_related("outing__guest").order_by("id")
    return seen.select_related("beat__fishery").prefetch_related(Prefetch("calls", calls, to_attr="seen_calls"))


def warnings_visible_to(user: User) -> QuerySet[AreaWarning]:
    return AreaWarning.objects.filter(fishery__in=fisheries_visible_to(user)).select_related("fishery")


def warnings_in_force(fishery: Fishery, *, now: dt.datetime) -> list[tuple[str, str, str]]:
    """(kind, level, text) of each public warning in force, the first entered first."""
    rows = AreaWarning.objects.filter(fishery=fishery, ended_at__isnull=True, from_at__lte=now, until_at__gt=now)
    return list(rows.order_by("id").values_list("kind", "level", "text"))


def push_addresses_of(user: User) -> QuerySet[PushAddress]:
    return PushAddress.objects.filter(user=user)


def duties_visible_to(user: User) -> QuerySet[Duty]:
    return Duty.objects.filter(fishery__in=fisheries_kept_by(user)).select_related("fishery", "user")


def drills_visible_to(user: User) -> QuerySet[Drill]:
    return Drill.objects.filter(fishery__in=fisheries_kept_by(user)).select_related("fishery", "answered_by")


def incidents_visible_to(user: User) -> QuerySet[Incident]:
    return Incident.objects.filter(fishery__in=fisheries_kept_by(user)).select_related("fishery")


def undelivered_visible_to(user: User, *, now: dt.datetime) -> QuerySet[Delivery]:
    """Messages of their fishery that did not arrive and wait for a keeper; guests see none."""
    return failed_messages_visible_to(user).filter(pk__in=undelivered(now=now).values("pk"))


def failed_at(fishery: Fishery, *, now: dt.datetime) -> QuerySet[Delivery]:
    """Messages of one fishery that did not arrive and wait for a keeper."""
    return undelivered(now=now).filter(_of_fisheries([fishery.pk]))


def _of_fisheries(kept) -> Q:
    return (
        Q(alarm__outing__beat__fishery__in=kept) | Q(outing__beat__fishery__in=kept)
        | Q(recall__beat__fishery__in=kept) | Q(drill__fishery__in=kept)
    )  # fmt: skip


def failed_messages_visible_to(user: User) -> QuerySet[Delivery]:
    """Messages that failed, dealt with or not: one that is closed can be asked for again."""
    mine = _of_fisheries(fisheries_kept_by(user).values("pk"))
    related = ("alarm__outing__guest", "alarm__outing__beat__fishery", "outing__guest", "outing__beat__fishery",
               "recall__beat__fishery", "drill__fishery")  # fmt: skip
    failed = Q(state__in=[Delivery.State.GIVEN_UP, Delivery.State.FAILED]) | Q(failed_at__isnull=False)
    return Delivery.objects.filter(mine, failed, channel__in=TO_PEOPLE).select_related(*related)


@dataclass(frozen=True)
class Board:
    """What hangs on the wall of the hut: the watch's own faults first, then people, then what did not arrive."""

    watch: tuple[str, ...]
    rods: list[dict]
    warnings: list[str]
    turns: list[str]
    recalls: list[str]
    undelivered: list[str]
    tasks: int
    loops: dict[str, dt.datetime]
    texts: list[AnglerMessage]
    off: list[Left]


def board_of(fishery: Fishery, *, now: dt.datetime) -> Board:
    """Who is on the water, in words, the one to look for first at the top. Queries do not grow with the rods."""
    rods = board.ordered(_rods(fishery), now)
    zone = zone_of(fishery)
    rows = [{"outing": rod.outing, "phone": rod.phone, "alone": rod.alone, "stage": rod.stage,
             "headline": board.headline(rod, now=now, zone=zone),
             "sentence": board.sentence(rod, now=now, zone=zone), "on_the_water": rod.off_at is None}
            for rod in rods]  # fmt: skip
    loops = dict(Pulse.objects.values_list("name", "beaten_at"))
    warned = [levels.sentence(*each) for each in warnings_in_force(fishery, now=now)]
    turns = warnings_of_today(fishery, now=now)
    faults, tasks = watch_health(now=now).faults, failed_at(fishery, now=now).count()
    return Board(
        faults, rows, warned, turns, _recalls(fishery), _undelivered(fishery), tasks, loops,
        list(texts_of(fishery, now=now)), left_lately(fishery, now=now),
    )  # fmt: skip


def texts_visible_to(user: User) -> QuerySet[AnglerMessage]:
    """Keepers see the texts of their fishery's anglers; guests see none."""
    kept = AnglerMessage.objects.filter(fishery__in=fisheries_kept_by(user))
    return kept.select_related("guest", "outing")


def texts_of(fishery: Fishery, *, now: dt.datetime) -> QuerySet[AnglerMessage]:
    """The newest texts of the last hours, those that a person must read first among equals."""
    rows = AnglerMessage.objects.filter(fishery=fishery, received_at__gt=now - TEXTS_SHOWN)
    return rows.select_related("guest", "outing").order_by("understood", "-received_at", "-id")[:MOST_TEXTS]


def texts_about(alarm: Alarm) -> list[AnglerMessage]:
    """Every text about an alarm's outing, the newest first. One query."""
    return list(AnglerMessage.objects.filter(outing=alarm.outing_id).order_by("-received_at", "-id"))


def _rods(fishery: Fishery) -> list[board.Rod]:
    newest = Alarm.objects.filter(outing=OuterRef("pk"), cleared_at__isnull=True).order_by("-stage", "-id")
    # Who asked for help after checking out is no longer on the water, and may need it all the same.
    help_open = Alarm.objects.filter(kind=Alarm.Kind.HELP, cleared_at__isnull=True).values("outing")
    out = (
        Outing.objects.filter(Q(checked_out_at__isnull=True) | Q(pk__in=help_open), beat__fishery=fishery)
        .select_related("guest", "beat", "pool")
        .annotate(open_alarm=Subquery(newest.values("pk")[:1]))
    )
    rows, zone = list(out), zone_of(fishery)
    alarms = Alarm.objects.in_bulk([row.open_alarm for row in rows if row.open_alarm])
    acks: dict[int, Acknowledgement] = {}
    for ack in Acknowledgement.objects.filter(alarm__outing__in=rows,
        alarm__cleared_at__isnull=True).select_related(
        "alarm"
    ).order_by("id"):  # fmt: skip
        acks[ack.alarm.outing_id] = ack
    calls: dict[int, bool] = {}
    for outing, answered in RecallCall.objects.filter(outing__in=rows, recall__ended_at__isnull=True).values_list(
        "outing_id", "answered_at"
    ):
        calls[outing] = calls.get(outing, True) and answered is not None
    told = last_entries(rows, zone=zone)
    return [
        _rod(
            row,
            alarms.get(row.open_alarm),
            acks.get(row.pk),
            calls.get(row.pk),
            entered=told.get(row.pk, ""),
            zone=zone,
        )
        for row in rows
    ]


def _rod(
    row: Outing,
    alarm: Alarm | None,
    ack: Acknowledgement | None,
    answered: bool | None,
    *,
    entered: str,
    zone: dt.tzinfo,
) -> board.Rod:
    return board.Rod(
        outing=row.pk, name=row.guest.name, phone=row.guest.phone,
        where=f"{row.beat.name}, {row.pool.name}" if row.pool else row.beat.name, alone=row.alone,
        unconfirmed=row.unconfirmed, due_back_at=row.due_back_at, alarm_at=row.alarm_at,
        heard_at=row.heard_at or row.checked_in_at, kind=alarm.kind if alarm else "",
        stage=alarm.stage if alarm else -1, answered_by=ack.name if ack else "",
        answered_until=ack.promised_until if ack else None, recalled=answered is not None,
        recall_answered=bool(answered), off_at=row.checked_out_at, time_only=row.watched_by_time_only,
        meeting=meeting(row.meeting_person, row.meeting_at and row.meeting_at.astimezone(zone)), entered=entered,
    )  # fmt: skip


def _recalls(fishery: Fishery) -> list[str]:
    """Each recall in force, and how many it has counted in."""
    told = []
    standing = Recall.objects.filter(beat__fishery=fishery, ended_at__isnull=True).select_related("beat")
    for recall in standing.prefetch_related("calls__outing").order_by("id"):
        calls = recall.calls.all()
        back = sum(call.outing.checked_out_at is not None for call in calls)
        coming = sum(call.answered_at is not None and call.outing.checked_out_at is None for call in calls)
        told.append(
            say(
                "{beat} is called off the water: {reason} Of {called} called {back} are off the water, "
                "{coming} coming, {silent} silent.",
                beat=recall.beat.name,
                reason=recall.reason,
                called=len(calls),
                back=back,
                coming=coming,
                silent=len(calls) - back - coming,
            )
        )
    return told


def _undelivered(fishery: Fishery) -> list[str]:
    """Messages given up or failed, and people no stage can reach, of alarms still open."""
    open_ones = Alarm.objects.filter(outing__beat__fishery=fishery, cleared_at__isnull=True)
    lost = Delivery.objects.filter(
        alarm__in=open_ones, state__in=[Delivery.State.GIVEN_UP, Delivery.State.FAILED]
    ).filter(closed_at__isnull=True).exclude(channel=Delivery.Channel.PUSH).order_by("written_at")  # fmt: skip
    lines = [
        say(
            "Alarm {alarm}: the message to {recipient} ({channel}) did not arrive: {why}",
            alarm=row.alarm_id, recipient=row.recipient, channel=row.get_channel_display(),
            why=row.get_fault_kind_display() or row.last_fault,
        )
        for row in lost
    ]  # fmt: skip
    unreached = open_ones.exclude(unreached="").order_by("id").values_list("pk", "unreached")
    return [*lines, *(f"Alarm {pk}: {why}." for pk, why in unreached)]
