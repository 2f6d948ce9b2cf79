"""A beat's word on the watch: the ladder, lone check-ins, texts, recalls. Pure; sane where nothing is said.

Every figure is a setting: HSE guidance gives none. The usual ones are common practice, no source.
"""

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field, fields
from typing import Any

from beats.shared.phrases import say
from safety import ladder, levels
from safety.ladder import BadLadder, Ladder

REFUSE, WITNESS = "refuse", "witness"


@dataclass(frozen=True)
class WatchPolicy:
    """`when_stale`: what a lone angler is advised while the watch is not running: to stay off the water, or to ask
    a keeper to watch for them. The check-in is recorded either way. Levels in metres on the beat's gauge; None:
    that recall is never called by itself. `recall_weather` and `recall_flood`: the mildest public warning that
    calls rods in, or never."""

    ladder: Ladder = ladder.DEFAULT
    when_stale: str = REFUSE
    receipt_seconds: int = 90
    texts_an_hour: int = 60
    recall_level_m: float | None = None
    recall_rise_m_per_h: float | None = 0.3
    recall_band_m: float = 0.1
    recall_dark_minutes: int = 0
    recall_weather: str = "amber"
    recall_flood: str = "warning"
    recall_answer_minutes: int = 15
    recall_out_minutes: int = 45
    given: frozenset[str] = field(default=frozenset(), compare=False)


LIMITS: dict[str, tuple[float, float]] = {
    "receipt_seconds": (10, 600), "texts_an_hour": (1, 1000), "recall_level_m": (-50, 500),
    "recall_rise_m_per_h": (0.01, 20), "recall_band_m": (0.01, 5), "recall_dark_minutes": (0, 240),
    "recall_answer_minutes": (2, 120), "recall_out_minutes": (5, 240),
}  # fmt: skip
LONGEST_GRACE_MIN, LONGEST_LONE_GRACE_MIN = 120, 60
"""From the time back to the alarm, as a fishery file takes them too."""
MAY_BE_NONE = {"recall_level_m", "recall_rise_m_per_h"}
WHOLE = {"receipt_seconds", "texts_an_hour", "recall_dark_minutes", "recall_answer_minutes", "recall_out_minutes"}


def read(data: Mapping[str, Any] | None) -> WatchPolicy:
    """The policy as a beat keeps it. Raises BadLadder, which names what is wrong."""
    facts = dict(data or {})
    known = {each.name for each in fields(WatchPolicy)} - {"given"}
    if unknown := sorted(set(facts) - known):
        raise BadLadder(
            say(
                "Unknown: {what}. A policy says: {what_2}.",
                what=", ".join(unknown),
                what_2=", ".join(sorted(known)),
            )
        )
    made: dict[str, Any] = {"given": frozenset(facts)}
    if "ladder" in facts:
        made["ladder"] = ladder.read(facts.pop("ladder"))
    if "when_stale" in facts:
        made["when_stale"] = facts.pop("when_stale")
        if made["when_stale"] not in (REFUSE, WITNESS):
            raise BadLadder(say("when_stale is refuse or witness."))
    for kind, words in levels.BY_KIND.items():
        if (name := f"recall_{kind}") in facts:
            made[name] = facts.pop(name)
            if made[name] not in (*words, levels.NEVER):
                raise BadLadder(
                    say(
                        "{name} is one of {what} or {levels_never}.",
                        name=name,
                        what=", ".join(words),
                        levels_never=levels.NEVER,
                    )
                )
    return WatchPolicy(**made, **{name: _figure(name, value) for name, value in facts.items()})


def _figure(name: str, value: Any) -> Any:
    low, high = LIMITS[name]
    if value is None and name in MAY_BE_NONE:
        return None
    kind = int if name in WHOLE else (int, float)
    if isinstance(value, bool) or not isinstance(value, kind) or not low <= value <= high:
        raise BadLadder(say("{name} is a number from {low:g} to {high:g}.", name=name, low=low, high=high))
    return value


def said(data: Mapping[str, Any]) -> dict[str, Any]:
    """What a policy says of its own, in one way of writing it. Raises BadLadder."""
    read_back = read(data)
    return {name: value for name, value in write(read_back).items() if name in read_back.given}


def write(policy: WatchPolicy) -> dict[str, Any]:
    """Everything the policy says, as plain data that `read` reads."""
    plain = asdict(policy)
    del plain["given"]
    return plain | {"ladder": ladder.write(policy.ladder)}
