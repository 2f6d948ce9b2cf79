"""The benchmark measures what it says, prints what a program can read, and leaves nothing behind."""

import json

import pytest

from tests.beats.test_bench_readings import bench

pytestmark = pytest.mark.long


def test_it_prints_one_object_with_all_cases(tmp_path):
    asked = ("--fish", "3000", "--season", "1000", "--old", "500", "--json")
    told = json.loads(bench(tmp_path, *asked, command="bench_returns").stdout)
    assert [(row["case"], row["unit"], row["goal"]) for row in told["rows"]] == [
        ("return of 1000 fish", "s", "under 2 x the baseline"),
        ("statistics of 667 salmon", "s", ""),
        ("file of 3000 fish", "s", told["rows"][2]["goal"]),
        ("first rows of it", "s", "under 0.2 s"),
        ("memory over idle", "MiB", "under 20 MiB"),
        ("old book of 500 fish", "s", "under 20 s"),
    ]
    assert told["rows"][2]["goal"] in ("under 2 x the baseline", "under 1.5 x the baseline")
    assert not [path for path in tmp_path.rglob("*") if path.name != "own.sqlite3"]


def test_too_few_fish_to_measure_are_refused(tmp_path):
    done = bench(tmp_path, "--fish", "10", command="bench_returns")
    assert (done.returncode, "Measure at least 1000 fish" in done.stderr) == (1, True)
