"""Fish as Darwin Core occurrences (dwc.tdwg.org/terms): where is blurred, and nobody is named.

Blurred to a tenth of a degree, the third of the classes in Chapman's "Current Best Practices for
Generalizing Sensitive Species Occurrence Data" (from memory); the uncertainty given covers the whole
cell of that grid. The place is the fishery's, never a pool's. Fish that are not of our two species
are left out, since a book that says "non-native" does not say which. Whether a fish was kept is a remark:
`disposition` is of specimens in collections, and `vitality` of the moment of the catch.
"""

import csv
import io
import math
from collections.abc import Iterator

from beats.models import Fishery
from beats.shared.cells import safe_cell
from sessions.models import Catch

SPECIES = {
    "msw": "Salmo salar", "1sw": "Salmo salar", "kelt": "Salmo salar", "farmed_msw": "Salmo salar",
    "farmed_1sw": "Salmo salar", "sea_trout": "Salmo trutta", "finnock": "Salmo trutta",
}  # fmt: skip
SEX = {"cock": "male", "hen": "female", "": ""}
FATE = {"kept": "kept", "released": "released alive"}
ESTABLISHED = {"farmed_msw": "introduced", "farmed_1sw": "introduced"}
GRID = 0.1
METRES_A_DEGREE = 111_320
TERMS = (
    "occurrenceID", "basisOfRecord", "occurrenceStatus", "scientificName", "vernacularName", "kingdom",
    "taxonRank", "eventDate", "individualCount", "sex", "establishmentMeans", "occurrenceRemarks",
    "samplingProtocol", "waterBody", "decimalLatitude", "decimalLongitude", "geodeticDatum",
    "coordinateUncertaintyInMeters", "dataGeneralizations", "informationWithheld",
)  # fmt: skip


def blurred(latitude: float, longitude: float) -> tuple[float, float, int]:
    """The middle of the place's cell, and metres from there to the cell's farthest corner, rounded up."""
    low = [math.floor(value / GRID + 1e-9) * GRID + GRID / 2 for value in (latitude, longitude)]
    north = GRID / 2 * METRES_A_DEGREE
    east = north * math.cos(math.radians(max(abs(low[0]) - GRID / 2, 0)))
    return round(low[0], 2), round(low[1], 2), math.ceil(math.hypot(north, east))


def occurrences(fishery: Fishery) -> Iterator[bytes]:
    """CSV, a header first, a line a fish."""
    yield _line(TERMS)
    place = blurred(fishery.latitude, fishery.longitude)
    fish = Catch.objects.standing().filter(beat__fishery=fishery, kind__in=SPECIES).order_by("id")
    for row in fish.only("id", "kind", "caught_on", "sex", "fate").iterator(chunk_size=2000):
        yield _line(_cells(fishery, row, place))


def _cells(fishery: Fishery, fish: Catch, place: tuple[float, float, int]) -> list[str]:
    latitude, longitude, metres = place
    return [
        f"{fishery.slug}:{fish.pk}", "HumanObservation", "present", SPECIES[fish.kind], fish.get_kind_display(),
        "Animalia", "species", fish.caught_on.isoformat(), "1", SEX[fish.sex],
        ESTABLISHED.get(fish.kind, "native"),
        FATE[fish.fate], "rod and line", safe_cell(fishery.river), f"{latitude:.2f}", f"{longitude:.2f}", "WGS84",
        str(metres), "Place given to a tenth of a degree", "Names of people; the pool",
    ]  # fmt: skip


def _line(cells) -> bytes:
    text = io.StringIO()
    csv.writer(text).writerow(cells)
    return text.getvalue().encode()
