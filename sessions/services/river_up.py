"""The river is up: pools are closed and the rota mended, in one go."""

import datetime as dt
from collections.abc import Sequence

from beats.models import Pool, User
from beats.services.river import close_pool
from beats.shared.once import Once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from sessions.models import Rota
from sessions.queries import rotas_of_day
from sessions.services.mending import replan


class NoPools(Refusal):
    """Nothing to close, or pools of two beats at once."""

    code = "no-pools"
    title = say("Which pools?")
    status = 400


class ClosedAllTheSame(Refusal):
    """The pools are closed; only the rota could not be mended."""

    code = "closed-all-the-same"
    title = say("Closed, and no rota found")


def river_up(
    pools: Sequence[Pool],
    *,
    from_on: dt.date,
    to_on: dt.date,
    reason: str,
    by: User,
    now: dt.datetime,
    once: Once | None = None,
) -> Rota | None:
    """Close pools of one beat and give the draft that moves their rods; None where no rota stands.

    A pool stays closed though the rota cannot be mended: the river is up whatever the rota says.
    Raises NoPools, ClosedAllTheSame, NotYours, KeyReused.
    """
    if len({pool.beat_id for pool in pools}) != 1:
        raise NoPools(
            say("Choose pools of one beat at a time."), errors={"pools": [say("Of one beat, at least one.")]}
        )
    for pool in pools:
        close_pool(pool, from_on=from_on, to_on=to_on, reason=reason, by=by, now=now)
    beat = pools[0].beat
    rota = next(day.rota for day in rotas_of_day(beat.fishery, from_on) if day.beat.pk == beat.pk)
    if rota is None:
        return None
    try:
        return replan(rota, by=by, now=now, once=once)[0]
    except Refusal as refusal:
        raise ClosedAllTheSame(
            say(
                "The pools are closed, and the rota still sends rods there. {refusal_sentence}",
                refusal_sentence=refusal.sentence,
            )
        ) from refusal
