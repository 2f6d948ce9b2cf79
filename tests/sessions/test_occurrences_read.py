"""Occurrences, read by somebody else: python-dwca-reader, which has the standard's list of terms.

Checked against the Darwin Core standard (TDWG): its occurrence core, `build/xml/occurrence_core_list.csv` of
github.com/tdwg/dwc, for what is required and what is a number; the Establishment Means Controlled Vocabulary,
dwc.tdwg.org/em, issued 2025-07-10; the class names that `basisOfRecord` takes and the two words of
`occurrenceStatus`, dwc.tdwg.org/terms. That a file alone, whose first row names its terms, needs no metafile:
Darwin Core text guide, from memory, and the reader takes it so.
"""

import datetime as dt
import zipfile

import pytest
from dwca.darwincore.utils import qualname
from dwca.read import DwCAReader

from sessions.export.occurrences import TERMS
from sessions.models import Catch
from tests.factories import BeatFactory, CatchFactory, client_of

REQUIRED = {"basisOfRecord"}
WHOLE, DECIMAL = {"individualCount"}, {"decimalLatitude", "decimalLongitude", "coordinateUncertaintyInMeters"}
WORDS = {
    "basisOfRecord": {
        "MaterialEntity", "PreservedSpecimen", "FossilSpecimen", "LivingSpecimen", "MaterialSample", "Event",
        "HumanObservation", "MachineObservation", "Taxon", "Occurrence", "MaterialCitation",
    },
    "occurrenceStatus": {"present", "absent"},
    "establishmentMeans": {
        "native", "nativeReintroduced", "introduced", "introducedAssistedColonisation", "vagrant", "uncertain",
    },
}  # fmt: skip
KINDS = [kind for kind in Catch.Kind.values if kind != "non_native"]


@pytest.fixture
def beat(db):
    return BeatFactory(fishery__slug="upper-water", fishery__river='The "Long", Water')


@pytest.fixture
def read(beat, owner, tmp_path):
    """What the second reader makes of the file: every row by short term."""
    for kind in Catch.Kind.values:
        CatchFactory(beat=beat, kind=kind, sex="hen", fate="kept" if kind == "msw" else "released")
    response = client_of(owner).get("/api/v1/fisheries/upper-water/occurrences/")
    assert response.status_code == 200
    with zipfile.ZipFile(tmp_path / "occurrences.zip", "w") as packed:
        packed.writestr("occurrence.csv", response.getvalue())
    with DwCAReader(str(tmp_path / "occurrences.zip")) as archive:
        rows = [row.data for row in archive]
    return [{name.rsplit("/", 1)[-1]: value for name, value in row.items()} for row in rows]


def test_every_column_is_a_term_of_the_standard():
    assert [qualname(term).rsplit("/", 1)[-1] for term in TERMS] == list(TERMS)
    assert len(set(TERMS)) == len(TERMS)


def test_a_second_reader_finds_each_fish_under_the_same_terms(read):
    assert [tuple(row) for row in read] == [TERMS] * len(KINDS)
    ids = Catch.objects.filter(kind__in=KINDS).order_by("id").values_list("id", flat=True)
    assert [row["occurrenceID"] for row in read] == [f"upper-water:{pk}" for pk in ids]
    assert {row["waterBody"] for row in read} == {'The "Long", Water'}
    assert [row["occurrenceRemarks"] for row in read] == ["kept", *["released alive"] * (len(KINDS) - 1)]


def test_what_the_standard_requires_is_there_and_numbers_are_numbers(read):
    for row in read:
        assert [name for name in REQUIRED if not row[name]] == []
        assert [int(row[name]) for name in WHOLE] == [1]
        assert [name for name in DECIMAL if not float(row[name])] == []
        assert dt.date.fromisoformat(row["eventDate"]).year == 2026
        assert abs(float(row["decimalLatitude"])) <= 90


def test_controlled_words_are_those_of_the_published_vocabularies(read):
    for name, words in WORDS.items():
        assert {row[name] for row in read} - words == set()
    assert {row["establishmentMeans"] for row in read} == {"native", "introduced"}
