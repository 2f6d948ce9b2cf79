"""A beat's day in one answer: law, light, level, tide, wind, fish, and every pool, cautions first."""

import datetime as dt

from beats import queries
from beats.models import Beat, Pool
from beats.shared import words
from beats.shared.phrases import say
from beats.shared.refusals import Refusal
from beats.water.facts import ANYBODY, Who
from beats.water.hydraulics import NotKnown
from beats.water.pool_today import section_of
from beats.water.reckoning import Reckoning, level_words
from beats.water.section_picture import draw
from beats.water.today import TIDE
from beats.water.today import conditions as told
from beats.water.told import Conditions
from beats.water.wading import CANNOT_SEE

__all__ = ["CANNOT_SEE", "TIDE", "Conditions", "DepthNotKnown", "conditions", "section_today"]


class DepthNotKnown(Refusal):
    """Nothing is drawn of a pool whose depth today is not known."""

    code = "depth-not-known"
    title = say("Depth not known today")


def conditions(beat: Beat, *, day: dt.date | None, now: dt.datetime, who: Who = ANYBODY) -> Conditions:
    """What is known of a beat on a local day (today when none is given).

    Three queries.
    """
    return told(queries.facts_of_day(beat, day=day, now=now), who)


def section_today(pool: Pool, *, now: dt.datetime) -> str:
    """The pool cut across now, as SVG. Raises DepthNotKnown."""
    known = Reckoning(queries.facts_of_day(pool.beat, day=None, now=now))
    facts = next((one for one in known.facts.pools if one.id == pool.pk), None)
    if facts is None:
        raise DepthNotKnown(
            say("{pool_name} is retired and no longer fished: nothing is reckoned for it.", pool_name=pool.name)
        )
    section = section_of(facts, known.day, _notes(known))
    if isinstance(section, NotKnown):
        raise DepthNotKnown(section.why)
    return draw(section)


def _notes(known: Reckoning) -> tuple[str, ...]:
    gauge, state = known.facts.gauge, known.state
    if gauge is None or state is None:
        return ()
    age = int(state.age.total_seconds() // 60)
    at = words.instant(state.at.astimezone(known.facts.beat.zone))
    return (
        level_words(
            gauge.name,
            state.level_m,
            age,
            stale=state.stale,
            trusted=state.trusted,
            unconfirmed=state.unconfirmed,
            assumed_m=state.assumed_m,
            rising=state.rising,
        ),
        f"Read at {at}.",
    )
