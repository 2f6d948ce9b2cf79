"""The benchmark measures what it says, prints what a program can read, and leaves nothing behind."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.long


ROOT = Path(__file__).parents[2]


def bench(folder, *options):
    environment = {name: value for name, value in os.environ.items() if name != "DATABASE_URL"}
    environment |= {"DJANGO_SETTINGS_MODULE": "config.settings", "TMPDIR": str(folder)}
    if url := os.environ.get("TEST_DATABASE_URL"):
        environment["RODTALLY_DEMO_DATABASE_URL"] = url
    return subprocess.run(
        [sys.executable, "manage.py", "bench_bookings", *options],
        env=environment, cwd=ROOT, capture_output=True, text=True, timeout=180, check=False,
    )  # fmt: skip


def test_it_prints_one_object_with_every_case(tmp_path):
    done = bench(tmp_path, "--tries", "100", "--rounds", "5", "--years", "1", "--json")
    assert done.returncode == 0, done.stderr
    rows = json.loads(done.stdout)["rows"]
    cases = ["rush, 100 tries", "no rush, 100 tries", "a month of 20 beats", "first five openings"]
    assert [row["case"].startswith(case) for row, case in zip(rows, cases, strict=True)] == [True] * 4
    assert rows[0]["holds"] == (rows[0]["value"] / rows[0]["baseline"] >= 0.5)
    assert not list(tmp_path.rglob("*"))


def test_too_little_to_measure_is_refused(tmp_path):
    done = bench(tmp_path, "--tries", "1")
    assert (done.returncode, "100 to 3000 tries" in done.stderr) == (1, True)
