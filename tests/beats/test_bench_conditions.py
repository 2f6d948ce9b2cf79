"""The benchmark of a beat's day measures what it says and leaves nothing behind."""

import json

import pytest

from tests.beats.test_bench_readings import bench

pytestmark = pytest.mark.long


def test_it_prints_one_object_with_the_computation_and_the_questions(tmp_path):
    done = bench(tmp_path, "--pools", "3", "--rounds", "5", "--json", command="bench_conditions")
    told = json.loads(done.stdout)
    assert set(told) == {"rows", "cores", "python"}
    computed, asked, *_ = told["rows"]
    assert (computed["case"], computed["unit"], computed["goal"]) == (
        "computation of a day, 3 pools, beside one round trip", "ms", "under 10 ms",
    )  # fmt: skip
    assert (computed["holds"], asked["value"], asked["holds"]) == (computed["value"] < 10, 3, True)
    assert not [path for path in tmp_path.rglob("*") if path.name != "own.sqlite3"]


def test_too_little_to_measure_is_refused(tmp_path):
    done = bench(tmp_path, "--rounds", "1", command="bench_conditions")
    assert (done.returncode, "5 rounds or more" in done.stderr) == (1, True)
