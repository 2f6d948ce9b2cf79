"""The hut's poster: where to check in, and what to say to 999. One A4 page."""

import base64

from django.shortcuts import get_object_or_404

from beats.emergency import in_danger
from beats.pages.door import KEEPERS, page
from beats.pages.show import shown
from beats.queries import beats_visible_to
from bookings.papers.code import picture
from bookings.permits import check_in_address
from bookings.text_codes import number_for_texts
from safety.card import TEXT_999
from safety.grid_reference import grid_reference
from safety.services.people import Crew

MOST = 12
"""Pools and people named: more would not fit on the page."""


@page(*KEEPERS)
def poster(request, *, now, fishery, beat):
    row = get_object_or_404(beats_visible_to(request.user), slug=beat, fishery=fishery)
    address = check_in_address(row)
    facts = {
        "fishery": fishery,
        "beat": row,
        "address": address,
        "code": base64.b64encode(picture(address)).decode(),
        "text_to": number_for_texts(),
        "danger": in_danger(tidal=row.tidal),
        "text_999": TEXT_999,
        "places": _places(row),
        "hours": row.longest_outing_minutes / 60,
        "keepers": [person for person in Crew(now).keepers(fishery) if person.phone][:MOST],
        "printed": now,
    }
    return shown(request, "safety/poster.html", facts)


def _places(beat) -> list[tuple[str, str]]:
    """(where, position): the fishery, then each pool that has one, as 999 asks for it."""
    fishery = beat.fishery
    pools = beat.pools.filter(retired=False, latitude__isnull=False, longitude__isnull=False)
    found = [(pool.name, pool.latitude, pool.longitude) for pool in pools.order_by("order", "id")[:MOST]]
    return [
        (name, grid_reference(latitude, longitude) or f"{latitude:.5f}, {longitude:.5f}")
        for name, latitude, longitude in [(fishery.name, fishery.latitude, fishery.longitude), *found]
    ]
