"""A replayed stage record in words, for the owner of a river. Pure."""

from collections.abc import Iterable
from dataclasses import dataclass

from safety.replay import Shown

MOST_LINES = 40


@dataclass
class Episode:
    """A time over which something stood: its first reading, its last, and the highest stage (m) in it."""

    first: Shown
    last: Shown
    highest_m: float


def summary(shown: Iterable[Shown]) -> str:
    """The readings counted, each time the river was shown as rising, and each recall."""
    counts = {"readings": 0, "not trusted": 0, "unconfirmed": 0}
    rising: list[Episode] = []
    recalls: dict[str, list[Episode]] = {}
    first = last = None
    before: Shown | None = None
    for one in shown:
        first, last = first or one, one
        counts["readings"] += 1
        counts["not trusted"] += not one.state.trusted
        counts["unconfirmed"] += one.state.unconfirmed is not None
        _follow(rising, one, now=bool(one.state.rising), before=bool(before and before.state.rising))
        for cause in one.recall:
            _follow(recalls.setdefault(cause, []), one, now=True, before=bool(before and cause in before.recall))
        before = one
    if first is None or last is None:
        return "No readings."
    lines = [
        f"{counts['readings']} readings from {_at(first)} to {_at(last)} UTC.",
        f"Not trusted: {counts['not trusted']}. Unconfirmed when they arrived: {counts['unconfirmed']}.",
        f"Shown as rising {len(rising)} times:",
        *_listed(rising),
    ]
    for cause, found in sorted(recalls.items()):
        lines += [f"Recalls by {cause}: {len(found)}.", *_listed(found)]
    if not recalls:
        lines.append("No recalls by level or by rise.")
    lines.append(
        "This is what the readings would have shown, and no more: between two readings the river can rise."
    )
    return "\n".join(lines)


def _follow(episodes: list[Episode], one: Shown, *, now: bool, before: bool) -> None:
    if not now:
        return
    if not before or not episodes:
        episodes.append(Episode(one, one, one.state.level_m))
    episodes[-1].last = one
    episodes[-1].highest_m = max(episodes[-1].highest_m, one.state.level_m)


def _listed(episodes: list[Episode]) -> list[str]:
    lines = [
        f"  {_at(each.first)} at {each.first.state.level_m:.2f} m, until {_at(each.last)}; "
        f"highest {each.highest_m:.2f} m"
        for each in episodes[:MOST_LINES]
    ]
    more = len(episodes) - len(lines)
    return [*lines, f"  and {more} more; --json has them all"] if more else lines


def _at(one: Shown) -> str:
    return f"{one.state.at:%Y-%m-%d %H:%M}"
