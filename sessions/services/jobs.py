"""Rotas worked out in the background: asked for now, taken by a worker, watched, called off.

The job is a row; the broker only wakes a worker. A worker that dies lets its lease run out and
another begins again; the rota it makes carries the job as its key, so that it is made once.
"""

import datetime as dt
import logging
from collections.abc import Callable
from typing import Any

from django.db import transaction
from django.db.models import Count, F, OuterRef, Q, QuerySet, Subquery, Window
from django.db.models.functions import Coalesce, RowNumber

from beats.audit import record
from beats.models import Beat, User
from beats.queries import Role, require_role
from beats.shared.once import Once, make_once
from beats.shared.refusals import Refusal
from beats.shares import refuse_when_full
from sessions.models import RotaJob
from sessions.rotation.effort import EFFORT, TRIES
from sessions.services.rotas import plan_rota

log = logging.getLogger(__name__)

THOROUGH = {"effort": EFFORT, "tries": TRIES}
LEASE = dt.timedelta(seconds=90)
MOST_TRIES = 3
GAVE_UP = "Working this rota out failed; the fault is in the log. Ask once more, or plan the week by hand."
State = RotaJob.State


class CalledOff(Exception):
    """Raised inside the search to leave it."""


def ask_for_rota(
    beat: Beat,
    *,
    first_on: dt.date,
    level_m: float | None = None,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> tuple[RotaJob, bool]:
    """Ask for a week's rota to be worked out in the background. Returns (job, made now?)."""
    require_role(by, beat.fishery, Role.OWNER, Role.GHILLIE)

    def make(columns: dict[str, Any]) -> RotaJob:
        refuse_when_full("rotas waiting", due(now).filter(beat__fishery=beat.fishery))
        job = RotaJob.objects.create(beat=beat, first_on=first_on, level_m=level_m, asked_at=now, **columns)
        record("ask for rota", job, by=by, now=now, fishery=beat.fishery, after={"first_on": first_on})
        return job

    return make_once(RotaJob, by=by, once=once, make=make)


@transaction.atomic
def call_off(job: RotaJob, *, by: User, now: dt.datetime) -> RotaJob:
    """Give a job up. One that waits ends at once; one at work ends at its next breath."""
    require_role(by, job.beat.fishery, Role.OWNER, Role.GHILLIE)
    waiting = RotaJob.objects.filter(pk=job.pk, state=State.WAITING)
    if not waiting.update(state=State.CALLED_OFF, calling_off=True, ended_at=now):
        RotaJob.objects.filter(pk=job.pk, state=State.WORKING).update(calling_off=True)
    record("call off rota", job, by=by, now=now, fishery=job.beat.fishery)
    job.refresh_from_db()
    return job


def work_one(*, clock: Callable[[], dt.datetime]) -> RotaJob | None:
    """Take the job whose turn it is and work it out; None when there is nothing to do."""
    for pk in list(to_do(clock()).values_list("pk", flat=True)[:5]):
        job = take(pk, now=clock())
        if job is not None:
            _work(job, clock)
            job.refresh_from_db()
            return job
    return None


def to_do(now: dt.datetime) -> QuerySet[RotaJob]:
    """One of each fishery in turn, so that a hundred beats asked for at once hold up nobody's one."""
    at_work = RotaJob.objects.filter(
        beat__fishery=OuterRef("beat__fishery"), state=State.WORKING, lease_until__gt=now
    )
    busy = at_work.order_by().values("beat__fishery").annotate(many=Count("id")).values("many")
    in_line = Window(RowNumber(), partition_by=F("beat__fishery"), order_by="id")
    return due(now).annotate(turn=Coalesce(Subquery(busy), 0) + in_line).order_by("turn", "id")


def due(now: dt.datetime) -> QuerySet[RotaJob]:
    """Waiting jobs, and those whose worker has gone silent."""
    silent = Q(state=State.WORKING, lease_until__lte=now)
    return RotaJob.objects.filter(Q(state=State.WAITING) | silent)


def take(pk: int, *, now: dt.datetime) -> RotaJob | None:
    """Take a job, if it is still there to be taken."""
    mine = due(now).filter(pk=pk).update(state=State.WORKING, lease_until=now + LEASE, tries=F("tries") + 1)
    return RotaJob.objects.select_related("beat__fishery", "made_by").get(pk=pk) if mine else None


def _work(job: RotaJob, clock: Callable[[], dt.datetime]) -> None:
    working = RotaJob.objects.filter(pk=job.pk, state=State.WORKING)

    def progress(text: str) -> None:
        working.update(progress=text[:120], lease_until=clock() + LEASE)

    def stop() -> bool:
        if working.filter(calling_off=True).exists():
            raise CalledOff
        return False

    once = Once.of(f"rota-job-{job.pk}", job.pk)
    if job.tries > MOST_TRIES:
        working.update(state=State.REFUSED, refusal=GAVE_UP, ended_at=clock())
        return
    try:
        rota, _ = plan_rota(
            job.beat, first_on=job.first_on, level_m=job.level_m, by=job.made_by, now=clock(), once=once,
            progress=progress, stop=stop, **THOROUGH,
        )  # fmt: skip
    except CalledOff:
        working.update(state=State.CALLED_OFF, ended_at=clock())
    except Refusal as refusal:
        working.update(state=State.REFUSED, refusal=refusal.sentence, ended_at=clock())
    except Exception:
        log.exception("rota job %s", job.pk)
        working.update(state=State.REFUSED, refusal=GAVE_UP, ended_at=clock())
    else:
        working.update(state=State.DONE, rota=rota, progress="done", ended_at=clock())
