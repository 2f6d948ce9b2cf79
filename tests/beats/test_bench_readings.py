"""The benchmark measures what it says, prints what a program can read, and leaves nothing behind."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

pytestmark = pytest.mark.long

ROOT = Path(__file__).parents[2]


def bench(folder, *options, command="bench_readings"):
    url = os.environ.get("TEST_DATABASE_URL") or f"sqlite:///{folder / 'own.sqlite3'}"
    environment = os.environ | {"DATABASE_URL": url, "SECRET_KEY": settings.SECRET_KEY, "INSECURE_HTTP": "1"}
    environment |= {"DJANGO_SETTINGS_MODULE": "config.settings", "TMPDIR": str(folder)}
    return subprocess.run(
        [sys.executable, "manage.py", command, *options],
        env=environment, cwd=ROOT, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip


def test_it_prints_one_object_with_both_cases(tmp_path):
    done = bench(tmp_path, "--rows", "5000", "--rounds", "20", "--json")
    told = json.loads(done.stdout)
    assert set(told) == {"rows", "cores", "python"}
    assert [row["case"] for row in told["rows"]] == [
        "newest level of 5000 readings",
        "three hours of 5000 readings",
    ]
    for row in told["rows"]:
        assert set(row) == {"case", "value", "unit", "baseline", "ratio", "goal", "holds"}
        assert row["ratio"] == pytest.approx(row["value"] / row["baseline"], abs=0.02)
        assert (row["goal"], row["holds"]) == ("under 2 x the baseline", row["value"] < 2 * row["baseline"])
    assert not [path for path in tmp_path.rglob("*") if path.name != "own.sqlite3"]


def test_too_little_to_measure_is_refused(tmp_path):
    done = bench(tmp_path, "--rows", "10")
    assert (done.returncode, "at least 1000 rows" in done.stderr) == (1, True)
