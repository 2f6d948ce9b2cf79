"""manage.py replay_stage: with nothing set, by the service's own code, and only from what was known by then."""

import datetime as dt
import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from beats.water.feeds import stage_csv
from beats.water.trend import Reading, state
from safety.replay import replay
from safety.rising import Marks

ROOT = Path(__file__).parents[2]
START = dt.datetime(2026, 5, 4, tzinfo=dt.UTC)
QUARTER = dt.timedelta(minutes=15)
MARKS = Marks(1.2, 0.3, 0.1)
LEVELS = [0.6] * 30 + [0.7, 0.85, 1.0, 1.3, 1.3, 1.25] + [round(1.2 - 0.02 * n, 2) for n in range(20)] + [1.6, 0.8]
KEYS = ["time", "stage_m", "trusted", "unconfirmed", "rise_m_per_h", "rising", "recall"]


def record(levels=LEVELS):
    return [(START + n * QUARTER, level) for n, level in enumerate(levels)]


def written(folder, lines, name="stage.csv"):
    file = folder / name
    file.write_bytes(lines if isinstance(lines, bytes) else "\n".join(lines).encode())
    return file


def run(*arguments):
    """The command in a process of its own, with no environment but a path and a home."""
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    command = [sys.executable, "manage.py", "replay_stage", *map(str, arguments)]
    return subprocess.run(command, cwd=ROOT, env=kept, capture_output=True, text=True, timeout=120, check=False)


def test_it_prints_every_reading_as_it_would_have_been_shown(tmp_path):
    file = written(tmp_path, ["time,stage_m", *(f"{at:%Y-%m-%dT%H:%MZ},{level}" for at, level in record())])
    found = run(file, "--json", "--level-mark", "1.2")
    assert found.returncode == 0, found.stderr
    answer = json.loads(found.stdout)
    assert list(answer) == ["readings"]
    assert [list(one) for one in answer["readings"]] == [KEYS] * len(LEVELS)
    assert answer["readings"] == [one.as_json() for one in replay(record(), marks=MARKS)]
    assert [(one["rising"], one["recall"]) for one in answer["readings"][29:34]] == [
        (False, []),
        (True, ["rise"]),
        (True, ["rise"]),
        (True, ["rise"]),
        (True, ["level", "rise"]),
    ]
    assert "Recalls by level: 2." in run(file, "--level-mark", "1.2").stdout
    assert "No recalls" in run(file, "--rise-mark", "never").stdout


def test_a_reading_is_judged_by_those_before_it_and_as_the_service_judges_it():
    readings = [Reading(at, level) for at, level in record()]
    for n, shown in enumerate(replay(record(), marks=MARKS)):
        live = state(readings[: n + 1], now=readings[n].at)
        assert (shown.state.trusted, shown.state.unconfirmed) == (live.trusted, live.unconfirmed)
        assert (shown.state.rising, shown.state.rise_m_per_h) == (live.rising, live.rise_m_per_h)
    for cut in (31, 35, 50):
        part = [one.as_json() for one in replay(record()[:cut], marks=MARKS)]
        assert part == [one.as_json() for one in replay(record(), marks=MARKS)][:cut]


def test_a_changed_record_is_interpolated_to_the_cadence():
    sparse = [(START + dt.timedelta(minutes=7), 0.6), (START + dt.timedelta(minutes=67), 1.2)]
    assert list(stage_csv.interpolated(sparse, QUARTER)) == [
        (START + n * QUARTER, level) for n, level in enumerate((0.68, 0.83, 0.98, 1.13), start=1)
    ]
    assert list(stage_csv.interpolated(record(), QUARTER)) == record()
    assert list(stage_csv.interpolated(record()[:1], QUARTER)) == record()[:1]


@pytest.mark.parametrize(
    ("lines", "told"),
    [
        (b"", "empty"),
        (b"\xff\xfet\0i\0", "UTF-8"),
        (["time,stage_m"], "no readings"),
        (["at,level_m", "2026-05-04T10:00Z,1"], "must name the column time"),
        (["time,stage_m,stage_m", "2026-05-04T10:00Z,1,1"], "must name the column stage_m once"),
        (["time;stage_m", "2026-05-04T10:00Z;1"], "commas"),
        (["time,stage_m", "2026-05-04T10:00Z,nan"], "line 2: 'nan' is not a stage"),
        (["time,stage_m", "2026-05-04T10:00Z,=1+1"], "'=1+1' is not a stage"),
        (["time,stage_m", "2026-05-04T10:00Z,1e9"], "'1e9' is not a stage"),
        (["time,stage_m", "2026-05-04T10:00Z,"], "'' is not a stage"),
        (["time,stage_m", "2026-05-04T10:00Z"], "a cell is missing"),
        (["time,stage_m", "4.5.2026 10:00,0.6"], "is not a time"),
        (["time,stage_m", "2026-05-04T10:15Z,1", "2026-05-04T10:00Z,1"], "line 3: 2026-05-04 10:00 is earlier"),
        (["time,stage_m", "2026-05-04T10:00Z,1", "2026-05-04T11:00+01:00,2"], "has two stages, 1 and 2 m"),
        (["time,stage_m", '"2026-05-04T10:00Z,1'], "not CSV"),
    ],
)
def test_a_bad_file_is_refused_with_what_to_do(tmp_path, lines, told):
    data = lines if isinstance(lines, bytes) else "\n".join(lines).encode()
    with pytest.raises(stage_csv.BadStageFile) as refused:
        stage_csv.read(data)
    assert told in str(refused.value)


def test_a_byte_order_mark_more_columns_and_the_same_line_twice_do_no_harm():
    data = "\ufefftime,who,stage_m\r\n2026-05-04T00:00Z,x,0.6\r\n2026-05-04T00:00Z,x,0.6\r\n".encode()
    assert stage_csv.read(data) == [(START, 0.6)]


def test_the_command_refuses_in_a_sentence(tmp_path):
    file = written(tmp_path, ["time,stage_m", "2026-05-04T10:00Z,nan"])
    for arguments in ((file,), (tmp_path / "none.csv",), (file, "--cadence", "0")):
        found = run(*arguments)
        assert found.returncode == 1
        assert found.stderr.startswith("CommandError: ")
        assert "Traceback" not in found.stderr
    good = written(tmp_path, ["time,stage_m", "2026-05-04T10:00Z,0.6"], "good.csv")
    for arguments in (("--rise-mark", "x"), ("--level-mark", "900"), ("--cadence", "0"), ("--jump", "0")):
        assert run(good, *arguments).returncode == 1
