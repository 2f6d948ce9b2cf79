"""The tally: who is on the water, whoever needs looking for first at the top."""

from django.urls import reverse

from beats.models import Membership
from beats.pages.door import KEEPERS, page
from beats.pages.keyed import new_key
from beats.pages.show import parts_of, shown
from safety import queries
from safety.services.people import Crew


@page(*KEEPERS)
def water(request, *, now, fishery):
    board = queries.board_of(fishery, now=now)
    alarms = queries.open_alarms_of(fishery)
    rods = [rod | {"alarm": alarms.get(rod["outing"])} for rod in board.rods]
    facts = {
        "fishery": fishery,
        "board": board,
        "key": new_key,
        "alarmed": [rod for rod in rods if rod["stage"] >= 0],
        "rods": [rod for rod in rods if rod["stage"] < 0],
        "on_the_water": sum(rod["on_the_water"] for rod in rods),
        "zone": queries.zone_of(fishery),
        "beats": fishery.beats.order_by("order", "id"),
        "on_duty": Crew(now).on_duty(fishery),
        "acts": _acts(fishery, owns=_owns(request, fishery)),
        "now": now.astimezone(queries.zone_of(fishery)),
    }
    return shown(request, "safety/water.html", facts)


def _owns(request, fishery) -> bool:
    return any(p.fishery_id == fishery.pk and p.role == Membership.Role.OWNER for p in parts_of(request))


def _acts(fishery, *, owns: bool) -> dict[str, str]:
    """Where each next action is."""
    names = {
        "recall": "water-recall",
        "check_in": "water-check-in",
        "river_up": "water-river-up",
        "level": "water-level",
        "rota": "water-rota",
        "fish": "water-fish",
    }
    names |= {"house": "house"} if owns else {}
    return {name: reverse(view, args=[fishery.slug]) for name, view in names.items()}
