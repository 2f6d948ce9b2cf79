"""Working out a week's rota from the book, and publishing it."""

import datetime as dt
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import Max

from beats.audit import record
from beats.models import Beat, User
from beats.queries import Role, require_role
from beats.shared.once import Once, made_earlier, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.shared.rows import locked
from beats.shares import take
from sessions.models import Rota, Turn
from sessions.rotation import Step
from sessions.services.certificate import certificate
from sessions.services.fished import fished_so_far
from sessions.services.keeping_off import solved, with_todays_conditions
from sessions.services.week import Week, week_of

TRIES = 5
SOON = {"effort": 0.4, "tries": 30_000}
"""While somebody waits for the answer; in the background the engine's own measure holds."""


class Overtaken(Refusal):
    """A newer rota than this draft is published already."""

    code = "rota-overtaken"
    title = say("Overtaken")


class NotDraft(Refusal):
    """Only a draft can be published."""

    code = "not-a-draft"
    title = say("Not a draft")


def plan_rota(
    beat: Beat,
    *,
    first_on: dt.date,
    by: User,
    now: dt.datetime,
    level_m: float | None = None,
    once: Once | None = None,
    **search: Any,
) -> tuple[Rota, bool]:
    """Work out the best rota for the week that starts on Monday `first_on`; a new draft.

    `level_m` is the gauge level to expect; without it the newest reading counts if it is fresh and
    the week is this one. What the week's published rota says has been fished stays as it was. Solving
    happens outside any transaction; `search` goes to the engine.
    Raises BadWeek, NoRota, NotYours, KeyReused, TooOften.
    """
    require_role(by, beat.fishery, Role.OWNER, Role.GHILLIE)
    if earlier := made_earlier(Rota, by=by, once=once):
        return earlier, False
    take("rotas", beat.fishery, now=now)
    week = with_todays_conditions(week_of(beat, first_on, level_m=level_m, now=now), now=now)
    week = week.asking(fished=fished_so_far(beat, first_on, week, now=now))
    answer = solved(week, **(search or SOON))

    def make(columns: dict[str, Any]) -> Rota:
        return keep_draft(
            beat, first_on, week, list(answer.steps), certificate=certificate(week, answer),
            wishes={"level_m": level_m}, by=by, now=now, columns=columns,
        )  # fmt: skip

    return make_once(Rota, by=by, once=once, make=make)


@transaction.atomic
def publish_rota(rota: Rota, *, by: User, now: dt.datetime) -> Rota:
    """Make a draft the week's rota; the one before it is kept as superseded."""
    require_role(by, rota.beat.fishery, Role.OWNER, Role.GHILLIE)
    locked(Beat.objects, pk=rota.beat_id)
    rota = locked(Rota.objects.select_related("beat__fishery"), pk=rota.pk)
    if rota.status == Rota.Status.PUBLISHED:
        return rota
    if rota.status != Rota.Status.DRAFT:
        raise NotDraft(say("A newer rota has replaced this one. Plan the week again, then publish that."))
    week = Rota.objects.filter(beat=rota.beat, first_on=rota.first_on, status=Rota.Status.PUBLISHED)
    if week.filter(version__gt=rota.version).exists():
        raise Overtaken(
            say(
                "Another rota was published since this draft was made. Look at that one, and plan "
                "again if it will not do."
            )
        )
    week.update(status=Rota.Status.SUPERSEDED)
    rota.status, rota.published_at = Rota.Status.PUBLISHED, now
    rota.save(update_fields=["status", "published_at"])
    record("publish rota", rota, by=by, now=now, fishery=rota.beat.fishery, after={"version": rota.version})
    return rota


def keep_draft(
    beat: Beat,
    first_on: dt.date,
    week: Week,
    steps: list[Step],
    *,
    certificate: dict[str, Any],
    wishes: dict[str, Any],
    by: User,
    now: dt.datetime,
    columns: dict[str, Any],
    replaces: Rota | None = None,
) -> Rota:
    """Write a new draft and its turns, inside the caller's transaction."""
    rota = _next_version(
        beat,
        first_on,
        {"certificate": certificate, "wishes": wishes, "replaces": replaces, "made_at": now, **columns},
    )
    Turn.objects.bulk_create(_turns(rota, week, steps))
    facts = {"beat": beat.slug, "first_on": first_on, "version": rota.version}
    record("mend rota" if replaces else "plan rota", rota, by=by, now=now, fishery=beat.fishery, after=facts)
    return rota


def _next_version(beat: Beat, first_on: dt.date, columns: dict[str, Any]) -> Rota:
    for _ in range(TRIES):
        newest = Rota.objects.filter(beat=beat, first_on=first_on).aggregate(version=Max("version"))["version"]
        try:
            with transaction.atomic():
                return Rota.objects.create(beat=beat, first_on=first_on, version=(newest or 0) + 1, **columns)
        except IntegrityError:
            if made := columns["request_key"]:
                mine = Rota.objects.filter(made_by=columns["made_by"], request_key=made)
                if mine.exists():
                    raise
    raise NotDraft(say("Others are planning this week at the same moment. Look at theirs first."))


def _turns(rota: Rota, week: Week, steps: list[Step]) -> list[Turn]:
    claims = [(step, week.claims[step.rod, step.day]) for step in steps]
    return [
        Turn(rota=rota, day=step.day, part=week.parts[step.part], rod=claim.rod, guest=claim.guest,
             sharer=claim.sharer, pool=week.pools[step.pool])
        for step, claim in claims
    ]  # fmt: skip
