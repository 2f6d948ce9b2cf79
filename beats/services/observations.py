"""What a keeper saw at the river: wind, thunder, how clear the water is and how warm."""

import datetime as dt
from typing import Any

from beats.audit import record
from beats.models import Beat, Observation, User
from beats.queries import Role, require_role
from beats.services.river import CLOCK_SKEW
from beats.shared import words
from beats.shared.once import Once, make_once
from beats.shared.phrases import say
from beats.shared.refusals import Refusal


class NotYetSeen(Refusal):
    """An observation from the future."""

    code = "observation-in-the-future"
    title = say("Observation in the future")
    status = 400


def note_observation(
    beat: Beat, *, facts: dict[str, Any], at: dt.datetime, by: User, now: dt.datetime, once: Once | None = None
) -> tuple[Observation, bool]:
    """Keep what was seen at an instant; `facts` are columns of Observation, one at least.

    Returns (observation, new?). Raises NotYetSeen, NotYours, KeyReused.
    """
    require_role(by, beat.fishery, Role.OWNER, Role.GHILLIE)
    if at > now + CLOCK_SKEW:
        raise NotYetSeen(
            say(
                "This is dated {words_instant} {at:%Z}, which is still to come. Check the clock.",
                words_instant=words.instant(at),
                at=at,
            )
        )

    def make(columns: dict) -> Observation:
        seen = Observation.objects.create(beat=beat, at=at, by=by, **facts, **columns)
        record("note observation", seen, by=by, now=now, fishery=beat.fishery, after=facts | {"at": at})
        return seen

    return make_once(Observation, by=by, once=once, make=make)
