"""The season's book as the demo shows it: the last fish, a blank day, and the return as a draft."""

import datetime as dt
from typing import Any

from beats.shared import words
from config.demo.scenario import Scene
from sessions.models import Catch
from sessions.queries import history_of, rods_let
from sessions.returns import season_return
from sessions.seasons import season_statistics
from sessions.weights import from_length

SHOWN = 3


def book_of(scene: Scene, *, now: dt.datetime) -> dict[str, Any]:
    """The season shown, as plain data."""
    made = season_return(scene.fishery, scene.year, now=now)
    salmon = season_statistics(scene.fishery, scene.year, species="salmon", now=now)
    fish = list(_standing(scene).select_related("pool")[:SHOWN])
    due = scene.fishery.returns_due.get(season=scene.year)
    return {
        "fish": [_line(one) for one in fish],
        "corrected": [deed.verb for deed in history_of(fish[0])] if fish else [],
        "blank_day": _blank_day(scene),
        "salmon": {
            "fish": salmon.overall.fish, "rod_days": salmon.overall.rod_days, "rate": salmon.overall.rate,
            "low": salmon.overall.low, "high": salmon.overall.high,
        },
        "return": {
            "state": made.state, "rod_days": made.rod_days, "hash": made.content_hash,
            "due_on": due.due_on.isoformat(), "findings": [one.sentence for one in made.findings],
        },
    }  # fmt: skip


def lines_of(scene: Scene, book: dict[str, Any]) -> list[str]:
    """The same for a person to read."""
    told, salmon = book["return"], book["salmon"]
    lines = [f"The season's book, {scene.year}. The last fish:", *(f"  {line}" for line in book["fish"])]
    if book["blank_day"]:
        lines.append(f"  {book['blank_day']}")
    if salmon["rate"] is not None:
        lines.append(
            f"  {salmon['fish']} salmon and grilse in {salmon['rod_days']} rod-days: {salmon['rate']:.3f} a day "
            f"({salmon['low']:.3f} to {salmon['high']:.3f}). These are figures of the book, no promise of fish."
        )
    rod_days = "rod-days not known" if told["rod_days"] is None else f"{told['rod_days']} rod-days"
    lines.append(
        f"  The return is a draft ({told['state']}, {rod_days}), due {told['due_on']} by the "
        "owner's own setting, not signed. To look at before signing:"
    )
    lines += [f"    {sentence}" for sentence in told["findings"][:SHOWN] or ["Nothing."]]
    if (left := len(told["findings"]) - SHOWN) > 0:
        lines.append(f"    And {left} more; the draft return has them all.")
    return lines


def where_to_look(scene: Scene, base: str) -> list[str]:
    """Addresses for the owner's token, and what is there."""
    water, year = f"{base}/fisheries/{scene.fishery.slug}", scene.year
    fish = _standing(scene).first()
    asked = [
        (f"{base}/catches/{fish.pk}/history/", "what was written of the last fish, and corrected")
        if fish
        else None,
        (f"{water}/returns/{year}/", "the draft return: read it, then sign its content_hash"),
        (f"{water}/returns/{year}/effort/", "rod-days let, planned and seen"),
        (f"{water}/statistics/{year}/", "rates with their limits, by pool, level, fly"),
        (f"'{water}/statistics/{year}/picture/?of=weeks' -o weeks.svg", "the season as a picture"),
        (f"{water}/season-report/{year}/ -o season.pdf", "the season on four pages"),
        (f"'{water}/fish/?format=csv'", "every fish, with a closing count and hash"),
        (f"{water}/occurrences/", "the same as Darwin Core occurrences, the place blurred"),
    ]
    return [f'  curl -H "Authorization: Bearer $TOKEN" {url}   # {what}' for url, what in filter(None, asked)]


def _standing(scene: Scene):
    rows = Catch.objects.standing().filter(beat__fishery=scene.fishery, caught_on__year=scene.year)
    return rows.order_by("-caught_at", "-id")


def _line(fish: Catch) -> str:
    size = f"{fish.weight_kg} kg, {fish.get_weight_how_display().casefold()}"
    if fish.weight_how == Catch.WeightHow.FROM_LENGTH:
        size = f"{fish.length_cm} cm, {from_length(fish.length_cm).words}"
    pool = fish.pool.name if fish.pool else "no pool"
    return f"{words.day(fish.caught_on)}, {pool}: {fish.get_kind_display()}, {fish.fate}, {size}; {fish.fly}"


def _blank_day(scene: Scene) -> str | None:
    """The last rod-day on which its beat gave nothing: it counts as effort all the same."""
    caught = set(_standing(scene).values_list("beat", "caught_on"))
    let = rods_let(scene.fishery).filter(day__year=scene.year, day__lte=scene.week).select_related("beat")
    for claim in let.order_by("-day", "beat__order", "rod"):
        if (claim.beat_id, claim.day) not in caught:
            return f"{words.day(claim.day)}, {claim.beat.name}: blank, and counted as fished."
    return None
