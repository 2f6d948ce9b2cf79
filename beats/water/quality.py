"""Quality control of stage readings: gross range, jumps, falls, levels after a silence, flat line."""

from enum import StrEnum


class Unconfirmed(StrEnum):
    """Why the newest level is not believed yet. Values are shown in the API."""

    RISE_STEP = "rise_step"
    FALL_STEP = "fall_step"
    AFTER_SILENCE = "after_silence"
    STUCK = "stuck"
    OUTSIDE_HISTORY = "outside_history"
