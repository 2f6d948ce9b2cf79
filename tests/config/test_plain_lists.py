"""A list told from its columns says what its serializer would say, and the benchmark says what it measured."""

import json

import pytest
from django.utils import timezone
from rest_framework.renderers import JSONRenderer

from beats.models import Reading
from beats.serializers import ReadingOut
from beats.shared.plain_lists import _plan
from sessions.models import Outing, Turn
from sessions.serializers import CatchOut, OutingOut, TurnOut
from sessions.turn_conditions import add_conditions
from tests.beats.test_bench_readings import bench
from tests.config.world import build
from tests.factories import OutingFactory, ReadingFactory, TurnFactory, client_of

LISTS = {
    "outings/": (Outing, OutingOut, "-id"),
    "turns/": (Turn, TurnOut, "day"),
    "gauges/{gauge}/readings/": (Reading, ReadingOut, "-at"),
}


@pytest.mark.django_db
@pytest.mark.parametrize("address", LISTS)
def test_a_plain_list_says_what_its_serializer_would(address):
    world = build()
    rows = world.rows
    OutingFactory(beat=rows["beat"], pool=rows["pool"], alone=True)
    TurnFactory(rota=rows["rota"], day=rows["turn"].day, rod=2, guest=None, pool=rows["pool"], part=rows["part"])
    ReadingFactory(gauge=rows["gauge"], trusted=False, water_c=None)
    model, serializer, order = LISTS[address]
    told = client_of(world.people["owner"]).get(f"/api/v1/{address.format(**world.ids())}").json()
    rows = list(model.objects.order_by(order))
    if model is Turn:
        add_conditions(rows, now=timezone.now())
    wanted = json.loads(JSONRenderer().render(serializer(rows, many=True).data))
    assert len(wanted) > 1
    assert sorted(told["results"], key=lambda row: row["id"]) == sorted(wanted, key=lambda row: row["id"])


def test_a_serializer_that_reckons_is_no_plain_list():
    with pytest.raises(TypeError, match="tell this list by its serializer"):
        _plan(CatchOut)


@pytest.mark.long
def test_reads_are_measured_beside_bare_views_that_say_the_same_bytes(tmp_path):
    told = json.loads(bench(tmp_path, "--rounds", "5", "--rows", "100", "--json", command="bench_reads").stdout)
    cases = [row["case"] for row in told["rows"]]
    assert [case.split(",")[0] for case in cases[:3]] == [
        "100 outings a page", "100 turns a page", "100 readings a page",
    ]  # fmt: skip
    assert [case.partition(":")[0] for case in cases[3:]] == [
        "page of outings", "page of turns", "newest readings", "tally of who is out", "idle sweep",
    ]  # fmt: skip
    assert all(row["baseline"] and row["holds"] == (row["ratio"] < 3) for row in told["rows"][:3])


def test_bench_names_what_there_is(tmp_path):
    done = bench(tmp_path, "--only", "tides", command="bench")
    assert done.returncode == 1
    assert "There is: bookings, conditions, estate, onset, readings, reads, returns, rota, watch." in done.stderr
