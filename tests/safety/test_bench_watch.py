"""The benchmark of the watch gives the sweep's figures and a first alarm's delay while mail is slow."""

import json

import pytest

from tests.beats.test_bench_readings import bench

pytestmark = pytest.mark.long

SMALL = ("--out", "60", "--due", "20", "--idle", "80", "--all-clears", "0", "--drills", "0")


def test_a_first_alarm_does_not_wait_for_five_thousand_letters_as_in_one_loop(tmp_path):
    done = bench(tmp_path, *SMALL, "--letters", "5000", "--json", command="bench_watch")
    assert done.returncode == 0, done.stderr
    *sweeps, alarm = json.loads(done.stdout)["rows"]
    assert [row["case"].split(",")[0] for row in sweeps] == [
        "20 due of 60 out", "idle sweep", "idle sweep",
    ]  # fmt: skip
    assert alarm["case"].startswith("first alarm's text, 5000 letters wait, mail 12 s a letter")
    assert (alarm["goal"], alarm["holds"]) == ("under 5 s", alarm["value"] < 5)
    assert alarm["value"] < alarm["baseline"] / 2, "both sides are measured in one run, on one machine"


def test_more_due_than_out_is_refused(tmp_path):
    done = bench(tmp_path, "--out", "1", "--due", "2", command="bench_watch")
    assert (done.returncode, "no more due than out" in done.stderr) == (1, True)
