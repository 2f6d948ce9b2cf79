"""Which turns, outings and catches a changed fishery file would orphan."""

from collections.abc import Iterable

from beats.objections import WaterChange, objector
from sessions.models import Catch, Outing, Turn


@objector
def used_water(change: WaterChange) -> Iterable[str]:
    """Pools and parts that a rota, an outing or a fish refers to stay."""
    for pool in change.pools:
        counts = {
            "turns": Turn.objects.filter(pool=pool).count(),
            "outings": Outing.objects.filter(pool=pool).count(),
            "fish": Catch.objects.filter(pool=pool).count(),
        }
        told = ", ".join(f"{count} {what}" for what, count in counts.items() if count)
        if told:
            yield f"Pool {pool.slug} of {pool.beat.slug} has {told} in the book; keep it with retired = true."
    for part in change.parts:
        count = Turn.objects.filter(part=part).count()
        if count:
            yield f"The part {part.slug} has {count} turns in rotas; keep it in the file."
