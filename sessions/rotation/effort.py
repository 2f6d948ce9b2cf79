"""How long to look for a better rota, in the search's own measures. No solver in here: it is quick to load."""

EFFORT = 1.0
"""The solver's deterministic time for each goal; a unit is near a second."""
TRIES = 90_000
"""Moves tried to bring the rods up to their bound; a sixth of that to improve every goal."""
