"""Recalls: every rod of the affected pools is called off the water, and each must answer.

A recall is one row; the rods it calls are found by the sweep again and again, so that whoever checks
in while it stands is called too. Who does not answer, or answers and does not come out, climbs the ladder.
"""

import datetime as dt
import logging
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef, Q, QuerySet
from django.http import Http404

from beats.audit import record
from beats.models import Beat, Membership, User
from beats.queries import require_role, role_in
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked, locked_unless_busy
from safety import wording
from safety.models import Alarm, Delivery, Recall, RecallCall
from safety.services import writing
from safety.services.people import Crew, policy_of
from safety.services.raising import raise_all
from sessions.models import Outing

log = logging.getLogger("rodtally.watch")
MINUTE = dt.timedelta(minutes=1)


class AlreadyRecalled(Refusal):
    """The beat has a recall for that cause already."""

    code = "already-recalled"
    title = say("Already called off the water")


class NotCalled(Refusal):
    """The rod is not among those called, or is out of the water."""

    code = "not-called"
    title = say("Not called")


class NotOfThisBeat(Refusal):
    """A pool of another beat."""

    code = "not-of-this-beat"
    title = say("Not of this beat")
    status = 400


def call_in(
    beat: Beat, *, reason: str, pools: list[int] | None = None, cause: str = Recall.Cause.HAND, by: User | None,
    now: dt.datetime, once: Once | None = None,
) -> tuple[Recall, bool]:  # fmt: skip
    """Call every rod of the beat, or of some of its pools, off the water: one action. Returns (recall, new?).

    `by` is None where the water's own figures called. Raises AlreadyRecalled, NotOfThisBeat, NotYours.
    """
    if by is not None:
        require_role(by, beat.fishery, *Membership.KEEPERS)
    wanted = sorted(set(pools or []))
    if wanted and beat.pools.filter(pk__in=wanted).count() != len(wanted):
        raise NotOfThisBeat(
            say("A pool is not of this beat. Call its own beat."), errors={"pools": [say("Not of this beat.")]}
        )

    def make(columns: dict[str, Any]) -> Recall:
        try:
            with transaction.atomic():
                recall = Recall.objects.create(
                    beat=beat, pools=wanted, cause=cause, reason=writing.one_line(reason), called_at=now, **columns
                )
        except IntegrityError:
            raise AlreadyRecalled(
                say(
                    "{beat_name} is under a recall already. End that one before you call another.",
                    beat_name=beat.name,
                )
            ) from None
        facts = {"beat": beat.slug, "cause": cause, "reason": reason, "pools": str(wanted)}
        record("call in", recall, by=by, now=now, fishery=beat.fishery, after=facts)
        return recall

    recall, made = make_once(Recall, by=by, once=once, make=make)
    if made:
        _call_at_once(beat, now)
    return recall, made


def _call_at_once(beat: Beat, now: dt.datetime) -> None:
    """Each rod in a transaction of its own; what fails here the next sweep does."""
    for pk in uncalled(now).filter(beat=beat).values_list("pk", flat=True):
        try:
            call_rod(pk, now=now)
        except Exception:
            about = {"outing_id": pk}
            log.exception("outing %s could not be called at once; the next sweep tries again", pk, extra=about)


def widen(recall: Recall, *, pools: list[int], reason: str, now: dt.datetime) -> bool:
    """Call more pools under a recall that stands; those called before keep their time. False when none is new."""
    with transaction.atomic():
        recall = locked(Recall.objects.select_related("beat__fishery"), pk=recall.pk)
        new = set(pools) - set(recall.pools)
        if recall.ended_at is not None or not recall.pools or not new:
            return False
        before = str(recall.pools)
        recall.pools, recall.reason = sorted(new.union(recall.pools)), writing.one_line(reason)
        recall.save(update_fields=["pools", "reason"])
        record("call in more", recall, by=None, now=now, fishery=recall.beat.fishery, before={"pools": before},
               after={"pools": str(recall.pools), "reason": reason})  # fmt: skip
    _call_at_once(recall.beat, now)
    return True


@transaction.atomic
def end_recall(recall: Recall, *, by: User | None, now: dt.datetime) -> Recall:
    """The recall is over; who has not answered is no longer asked. A second time changes nothing."""
    if by is not None:
        require_role(by, recall.beat.fishery, *Membership.KEEPERS)
    recall = locked(Recall.objects.select_related("beat__fishery"), pk=recall.pk)
    if recall.ended_at is None:
        recall.ended_at = now
        recall.save(update_fields=["ended_at"])
        record("end recall", recall, by=by, now=now, fishery=recall.beat.fishery)
    return recall


@transaction.atomic
def answer_recall(recall: Recall, outing: Outing, *, by: User | None, now: dt.datetime) -> RecallCall:
    """The angler says that they are coming out; they are counted in when they check out.

    Raises NotCalled; Http404 for a stranger.
    """
    if (
        by is not None
        and outing.guest.user_id != by.pk
        and role_in(by, outing.beat.fishery) not in Membership.KEEPERS
    ):
        raise Http404
    outing = locked(Outing.objects.select_related("guest", "beat__fishery"), pk=outing.pk)
    recall = Recall.objects.get(pk=recall.pk)
    call = RecallCall.objects.filter(recall=recall, outing=outing).first()
    if call is None or outing.checked_out_at or recall.ended_at:
        raise NotCalled(say("This rod is not called, or is off the water already. Look at the board."))
    if call.answered_at is None:
        call.answered_at = now
        call.number += 1
        call.due_at = now + policy_of(outing.beat).recall_out_minutes * MINUTE
        call.save()
        Outing.objects.filter(pk=outing.pk).update(heard_at=now)
        record("answer recall", call, by=by, now=now, fishery=outing.beat.fishery, after={"outing": outing.pk})
    return call


def _called_for(outing: str) -> QuerySet[Recall]:
    """Recalls in force that mean an outing's pool; an outing whose pool is not known is always meant."""
    return Recall.objects.filter(beat=OuterRef(f"{outing}beat"), ended_at__isnull=True)


def uncalled(now: dt.datetime) -> QuerySet[Outing]:  # noqa: ARG001 - asked like the others
    """Open outings on a beat under a recall, called by none of its recalls. Pools are judged in `call_rod`."""
    standing = Recall.objects.filter(ended_at__isnull=True).values_list("beat_id", flat=True)
    beats = list(standing)
    if not beats:
        return Outing.objects.none()
    waiting = _called_for("").filter(
        ~Exists(RecallCall.objects.filter(recall=OuterRef("pk"), outing=OuterRef(OuterRef("pk"))))
    )
    return Outing.objects.filter(Exists(waiting), beat__in=beats, checked_out_at__isnull=True).order_by("id")


@transaction.atomic
def call_rod(outing_id: int, *, now: dt.datetime) -> bool:
    """Tell one rod of every recall that means it and has not told it yet."""
    related = Outing.objects.select_related("guest", "beat__fishery", "pool")
    outing = locked_unless_busy(related, pk=outing_id, checked_out_at__isnull=True)
    if outing is None:
        return False
    called = RecallCall.objects.filter(outing=outing).values("recall")
    told = False
    for recall in Recall.objects.filter(beat=outing.beat, ended_at__isnull=True).exclude(pk__in=called):
        if recall.pools and outing.pool_id is not None and outing.pool_id not in recall.pools:
            continue
        _tell(recall, outing, now)
        told = True
    return told


def _tell(recall: Recall, outing: Outing, now: dt.datetime) -> None:
    rules = policy_of(outing.beat)
    due = now + rules.recall_answer_minutes * MINUTE
    RecallCall.objects.create(recall=recall, outing=outing, told_at=now, due_at=due)
    missing = writing.missing(outing, number=0, due_back_at=outing.due_back_at)
    words = wording.called_in(missing, reason=_ended(recall.reason), code=outing.code, answer_by=due)
    Delivery.objects.bulk_create(
        writing.angler_messages(
            outing, words, about=Delivery.About.RECALL, turn=recall.pk, now=now, wait_s=rules.receipt_seconds,
            recall=recall,
        )
    )  # fmt: skip


def _ended(reason: str) -> str:
    return reason if reason.endswith((".", "!", "?")) else f"{reason}."


def missed_calls(now: dt.datetime) -> QuerySet[RecallCall]:
    """Rods still out that did not answer in time, or answered and did not come, and have no alarm for it."""
    noted = Alarm.objects.filter(
        kind=Alarm.Kind.RECALL,
        outing=OuterRef("outing"),
        occasion=OuterRef("pk"),
        deadline_number=OuterRef("number"),
    )
    standing = list(Recall.objects.filter(ended_at__isnull=True).values_list("pk", flat=True))
    if not standing:
        return RecallCall.objects.none()
    late = Q(due_at__lte=now, recall__in=standing, outing__checked_out_at__isnull=True)
    return RecallCall.objects.filter(~Exists(noted), late).order_by("due_at", "id")


@transaction.atomic
def raise_unanswered(call_id: int, *, now: dt.datetime) -> bool:
    """The first stage of the ladder for a rod that was called and is silent."""
    call = RecallCall.objects.select_related("recall").get(pk=call_id)
    related = Outing.objects.select_related("guest", "beat__fishery", "pool")
    outing = locked_unless_busy(related, pk=call.outing_id, checked_out_at__isnull=True)
    if outing is None or not missed_calls(now).filter(pk=call_id).exists():
        return False
    alarm = Alarm(
        outing=outing, kind=Alarm.Kind.RECALL, deadline_number=call.number, occasion=call.pk, stage=1,
        due_back_at=outing.due_back_at, alarm_at=call.due_at, raised_at=now,
    )  # fmt: skip
    return raise_all([alarm], Crew(now), now=now) == 1
