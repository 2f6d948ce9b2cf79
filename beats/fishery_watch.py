"""How a beat is watched, as a fishery file says it: the ladder of alarms, lone check-ins, recalls. Pure.

The service keeps it on the beat as plain data; what a ladder must be, the watch itself judges
(`beats.objections.policy_reader`).
"""

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StringConstraints

Clock = Annotated[str, StringConstraints(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")]
Who = Literal["angler", "ghillie on duty", "keeper", "owner", "emergency contact"]
By = Literal["email", "text", "voice"]
Never = Literal["never"]
Metres = Annotated[float, Field(ge=-50, le=500, allow_inf_nan=False)]
Rise = Annotated[float, Field(ge=0.01, le=20, allow_inf_nan=False)]
Band = Annotated[float, Field(ge=0.01, le=5, allow_inf_nan=False)]
NEVER = "never"
UNSAID = {("recall_level_m", NEVER), ("recall_rise_m_per_h", NEVER)}
"""Kept as null: a file has no null, and says never."""


def _field(description: str, default: Any = None, **limits: Any) -> Any:
    return Field(default, description=description, **limits)


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)


class StageTable(_Table):
    after_minutes: int = _field("minutes after the alarm, 0 to 240; the first stage has 0", ..., ge=0, le=240)
    who: Annotated[list[Who], Field(min_length=1)] = _field(
        'whom it tells: ["angler", "ghillie on duty", "keeper", "owner", "emergency contact"] or some of them', ...
    )
    by: Annotated[list[By], Field(min_length=1)] = _field(
        'by what: ["email", "text", "voice"] or some of them', ["email", "text", "voice"]
    )
    repeat_minutes: int | None = _field("said again every so many minutes, 2 or more; leave it out for once", ge=2)


class WatchTable(_Table):
    """Everything may be left out: what is not said is the usual."""

    stages: Annotated[list[StageTable], Field(max_length=8)] = _field("[[beats.watch.stages]] tables, 1 to 8", [])
    quiet: Annotated[list[Clock], Field(min_length=2, max_length=2)] | None = _field(
        'hours in which company is not rung, such as ["22:00", "07:00"]; a lone angler\'s alarm always rings'
    )
    when_stale: Literal["refuse", "witness"] | None = _field(
        "what a lone angler is advised while the watch is not running: refuse (stay off the water) or witness "
        "(ask a keeper to watch); the check-in is recorded either way"
    )
    receipt_seconds: int | None = _field(
        "seconds without a receipt before the next way is tried, 10 to 600", ge=10, le=600
    )
    texts_an_hour: int | None = _field(
        "texts and calls an hour at most, for company; a lone angler's always go, 1 to 1000", ge=1, le=1000
    )
    recall_level_m: Metres | Never | None = _field(
        "metres on the beat's gauge from which all rods are called in, -50 to 500, or never"
    )
    recall_rise_m_per_h: Rise | Never | None = _field(
        "metres an hour of rise that call all rods in, 0.01 to 20, or never"
    )
    recall_band_m: float | None = _field(
        "metres below the mark at which a recall ends, 0.01 to 5", ge=0.01, le=5, allow_inf_nan=False
    )
    recall_dark_minutes: int | None = _field("minutes before dark that call rods in, 0 for never", ge=0, le=240)
    recall_answer_minutes: int | None = _field("minutes to answer a recall in, 2 to 120", ge=2, le=120)
    recall_out_minutes: int | None = _field(
        "minutes to come off the water in once it is answered, 5 to 240", ge=5, le=240
    )
    recall_weather: Literal["yellow", "amber", "red", "never"] | None = _field(
        "the mildest weather warning that calls rods in: yellow, amber, red or never"
    )
    recall_flood: Literal["alert", "warning", "severe", "never"] | None = _field(
        "the mildest flood warning that calls rods in: alert, warning, severe or never"
    )

    def policy(self) -> dict[str, Any]:
        """As the beat keeps it."""
        said = self.model_dump(exclude_none=True)
        rungs = {name: said.pop(name, None) for name in ("stages", "quiet")}
        kept = {name: None if (name, value) in UNSAID else value for name, value in said.items()}
        return kept | {"ladder": rungs} if any(rungs.values()) else kept


def table_of(policy: Mapping[str, Any] | None) -> WatchTable | None:
    """The table that says what a beat keeps; None where it keeps nothing of its own."""
    if policy is None:
        return None
    rungs = policy.get("ladder") or {}
    said = {name: NEVER if value is None else value for name, value in policy.items() if name != "ladder"}
    return WatchTable.model_validate(said | {"stages": rungs.get("stages", []), "quiet": rungs.get("quiet")})
