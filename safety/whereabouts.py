"""Where to send help: grid reference, position and way in of a pool, or of every pool of a beat. Reads only."""

from dataclasses import dataclass

from beats.models import Beat, Pool
from safety.grid_reference import grid_reference

MOST = 12


@dataclass(frozen=True)
class Place:
    """Texts are empty where nothing is recorded; `grid` is empty outside Great Britain, too."""

    name: str
    grid: str
    position: str
    access: str


def places_of(beat: Beat, pool: Pool | None) -> list[Place]:
    """The pool alone where it is known, else the pools of the beat down the river. One query at most."""
    pools = [pool] if pool else beat.pools.filter(retired=False).order_by("order", "id")[:MOST]
    return [_place(each) for each in pools]


def _place(pool: Pool) -> Place:
    if pool.latitude is None or pool.longitude is None:
        return Place(pool.name, "", "", pool.access)
    grid = grid_reference(pool.latitude, pool.longitude) or ""
    return Place(pool.name, grid, f"{pool.latitude:.5f}, {pool.longitude:.5f}", pool.access)
