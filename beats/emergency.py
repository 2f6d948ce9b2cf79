"""Whom to ring when somebody may be in danger: said once, and the same everywhere.

999 and 112, and the Coastguard on tidal water: Natural Resources Wales, "Report emergencies in the Dee
estuary", and nidirect, "Keeping safe on waterways and the coast". Inland the police lead a search for
a missing angler in Scotland (from memory).
"""

from collections.abc import Iterable

from beats.shared.phrases import joined, say

NOT_AN_EMERGENCY_SERVICE = say("Rodtally is not an emergency service.")


def ask_for(*, tidal: bool) -> str:
    """The service to ask for; where the tide reaches it is the Coastguard."""
    return say("the Coastguard") if tidal else say("the police")


def in_danger(*, tidal: bool) -> str:
    return say("In danger ring 999 or 112 and ask for {ask_for}.", ask_for=ask_for(tidal=tidal))


def in_danger_on(beats: Iterable[tuple[str, bool]]) -> str:
    """Whom to ring where somebody may be on any of several beats, (name, tidal): both services if they differ."""
    known = list(beats)
    tidal = [name for name, reached in known if reached]
    if not tidal or len(tidal) == len(known):
        return in_danger(tidal=bool(tidal))
    return say(
        "In danger ring 999 or 112. On {beats} ask for the Coastguard, elsewhere for the police.",
        beats=joined(tidal, ", "),
    )
