"""The water's own recalls: level, rise, a pool too high, a tide that closes one, dark, a public warning.

Looked at once a minute, for beats with somebody on the water or a recall in force, and nowhere else.
"""

import datetime as dt
import logging

from django.db.models import Exists, OuterRef, Q

from beats import queries
from beats.models import Beat, Fishery
from beats.water.changes import Kind
from beats.water.trend import State
from safety import levels
from safety.models import Recall
from safety.policy import WatchPolicy
from safety.queries import warnings_in_force
from safety.rising import Marks, gauge_calls, pools_out
from safety.services.calling import AlreadyRecalled, call_in, end_recall, widen
from safety.services.people import policy_of
from sessions.models import Outing

log = logging.getLogger("rodtally.watch")
Cause = Recall.Cause


def look_at_water(*, now: dt.datetime, fishery: Fishery | None = None) -> int:
    """Call and end what the water says, beat by beat; how many recalls changed. A bad beat stands alone.

    Every fishery, unless one is named.
    """
    out = Outing.objects.filter(beat=OuterRef("pk"), checked_out_at__isnull=True)
    standing = Recall.objects.filter(beat=OuterRef("pk"), ended_at__isnull=True)
    changed = 0
    beats = Beat.objects.filter(Q(Exists(out)) | Q(Exists(standing)))
    if fishery is not None:
        beats = beats.filter(fishery=fishery)
    for beat in beats.select_related("fishery", "gauge"):
        try:
            changed += _look(beat, now)
        except Exception:
            log.exception("the water of beat %s could not be looked at", beat.pk)
    return changed


def _look(beat: Beat, now: dt.datetime) -> int:
    rules = policy_of(beat)
    standing = {recall.cause: recall for recall in beat.recalls.filter(ended_at__isnull=True)}
    wanted = _by_gauge(beat, rules, standing, now) | _by_tide(beat, standing, now)
    wanted |= _by_dark(beat, rules, now) | _by_warning(beat, rules, now)
    changed = sum(_called(beat, cause, said, standing.get(cause), now) for cause, said in wanted.items())
    for cause, recall in standing.items():
        if cause not in wanted and cause != Cause.HAND:
            end_recall(recall, by=None, now=now)
            changed += 1
    return changed


Said = tuple[str, list[int]]
"""Why, and which pools (none named: the whole beat)."""


def _called(beat: Beat, cause: str, said: Said, standing: Recall | None, now: dt.datetime) -> bool:
    """Call, or call more pools where a recall for that cause stands; whether anything changed."""
    reason, pools = said
    if standing is not None:
        return widen(standing, pools=pools, reason=reason, now=now)
    try:
        call_in(beat, reason=reason, pools=pools, cause=cause, by=None, now=now)
    except AlreadyRecalled:
        return False
    return True


def _by_gauge(beat: Beat, rules: WatchPolicy, standing: dict, now: dt.datetime) -> dict:
    if beat.gauge is None:
        return {}
    readings, known = queries.recent_and_state(beat.gauge, now)
    marks = Marks(rules.recall_level_m, rules.recall_rise_m_per_h, rules.recall_band_m)
    reasons = {
        Cause.LEVEL: f"the river at {beat.gauge.name} has reached {rules.recall_level_m or 0:g} m.",
        Cause.RISE: f"the river at {beat.gauge.name} is rising fast.",
    }
    called = gauge_calls(readings, known, marks, standing=standing)
    wanted: dict[str, tuple[str, list[int]]] = {
        cause: (reason, []) for cause, reason in reasons.items() if cause in called
    }
    return wanted | _pools(beat, rules, standing, known)


def _pools(beat: Beat, rules: WatchPolicy, standing: dict, known: State | None) -> dict:
    windows = dict(beat.pools.filter(level_max_m__isnull=False).values_list("pk", "level_max_m"))
    fresh = known is not None and not known.stale and (known.trusted or known.unconfirmed is not None)
    level = known.level_m if known is not None and fresh else None
    confirmed = known is not None and known.trusted
    before = set(standing[Cause.POOL].pools) if Cause.POOL in standing else set()
    out = pools_out(level, windows, rules.recall_band_m, standing=before, confirmed=confirmed)
    return {Cause.POOL: ("the river is too high for your pool.", sorted(out))} if out else {}


def _by_dark(beat: Beat, rules: WatchPolicy, now: dt.datetime) -> dict:
    if not rules.recall_dark_minutes:
        return {}
    last = queries.light_on(beat.fishery, queries.local_day(beat.fishery, now)).last_light_at
    soon = dt.timedelta(minutes=rules.recall_dark_minutes)
    if last is None or not last - soon <= now < last + dt.timedelta(hours=4):
        return {}
    return {Cause.DARK: (f"it is dark from {last.astimezone(queries.zone_of(beat.fishery)):%H:%M}.", [])}


def _by_tide(beat: Beat, standing: dict, now: dt.datetime) -> dict:
    """Pools that the tide cuts off now or within the hour. A table that ran out changes nothing."""
    if not beat.tidal:
        return {}
    found = queries.warnings_now(beat, now)
    closing = {each.pool: each.sentence for each in found if each.kind is Kind.CUTTING_OFF}
    unknown = {each.pool for each in found if each.kind is Kind.TIDE_NOT_KNOWN}
    before = standing.get(Cause.TIDE)
    pools = set(closing) | (set(before.pools) & unknown if before else set())
    reason = " ".join(closing.values()) or (before.reason if before else "")
    return {Cause.TIDE: (reason[:200], sorted(pools))} if pools else {}


def _by_warning(beat: Beat, rules: WatchPolicy, now: dt.datetime) -> dict:
    """Weather and flood warnings entered by a keeper, from the level on that the beat's policy names."""
    marks = {"weather": rules.recall_weather, "flood": rules.recall_flood}
    found = [
        each for each in warnings_in_force(beat.fishery, now=now) if levels.reaches(*each[:2], marks[each[0]])
    ]
    return {Cause.WARNING: (levels.sentence(*levels.gravest(found)), [])} if found else {}
