"""Recalls in force, for whoever asks which pools may be fished."""

import datetime as dt
from collections.abc import Iterable

from safety.models import Recall
from sessions.beat_calls import BeatCall, beat_call_source


@beat_call_source
def recalls_in_force(beats: Iterable[int], _now: dt.datetime) -> Iterable[BeatCall]:
    """One query."""
    rows = Recall.objects.filter(beat__in=beats, ended_at__isnull=True).order_by("id")
    return [BeatCall(beat, frozenset(pools), reason) for beat, pools, reason in rows.values_list(
        "beat_id", "pools", "reason")]  # fmt: skip
