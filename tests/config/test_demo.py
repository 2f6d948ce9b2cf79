"""The demo as a newcomer meets it: in a process of its own, with nothing set up."""

import datetime as dt
import itertools
import json
import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client
from django.utils import timezone

from beats.authentication import issue_token
from config.demo.scenario import set_scene
from config.demo.show import calls
from safety.models import Alarm
from safety.services.sweep import sweep

pytestmark = pytest.mark.long

ROOT = Path(__file__).resolve().parents[2]


def demo(folder, *flags):
    plain = {name: os.environ[name] for name in ("PATH", "HOME", "LANG") if name in os.environ}
    return subprocess.run(
        [sys.executable, "manage.py", "demo", *flags],
        env=plain | {"RODTALLY_DEMO_DIR": str(folder)}, cwd=ROOT, capture_output=True, text=True,
        timeout=120, check=False,
    )  # fmt: skip


@pytest.fixture(scope="module")
def runs(tmp_path_factory):
    """Two runs in the same folder: the second must be harmless."""
    folder = tmp_path_factory.mktemp("demo")
    first, second = (demo(folder, "--once", "--json") for _ in range(2))
    assert (first.returncode, second.returncode) == (0, 0), first.stderr + second.stderr
    return folder, json.loads(first.stdout), json.loads(second.stdout)


def test_one_lone_angler_is_late_and_everybody_is_told(runs):
    _, first, second = runs
    assert first["sweep"] == {"raised": 1, "cleared": 0, "failed": 0}
    assert second["sweep"] == {"raised": 1, "cleared": 1, "failed": 0}  # last run's angler came back
    assert [(one["by"], one["state"]) for one in first["alarm"]["deliveries"]] == [
        ("email", "sent"),
        ("email", "sent"),
        ("email", "sent"),  # two keepers and the angler
        ("log", "sent"),
    ]


def test_the_messages_are_really_written(runs):
    folder, first, _ = runs
    mail = "\n".join(file.read_text() for file in sorted((folder / "mail").iterdir()))
    assert mail.count("Subject: OVERDUE: " + first["alarm"]["guest"]) == 4  # two keepers, two runs
    assert mail.count("Subject: Off the water: " + first["alarm"]["guest"]) == 3
    assert "999 or 112" in mail


def test_a_second_run_adds_nothing_to_the_book(runs):
    _, first, second = runs
    assert second["rotas"] == first["rotas"]
    assert second["return"] == first["return"]
    assert second["book"] == first["book"]


def test_the_book_has_fish_a_blank_day_and_a_return_that_nobody_signed(runs):
    book = runs[1]["book"]
    assert (len(book["fish"]), book["corrected"]) == (3, ["note catch", "correct catch"])
    assert book["blank_day"].endswith("blank, and counted as fished.")
    assert (book["return"]["state"], len(book["return"]["hash"])) == ("data", 64)
    assert book["salmon"]["low"] < book["salmon"]["rate"] < book["salmon"]["high"]


def test_the_scene_holds_a_rota_today_the_tally_and_a_month(runs):
    _, first, _ = runs
    assert {rota["status"] for rota in first["rotas"]} <= {"proven best", "best found"}
    assert all(rota["rows"] for rota in first["rotas"])
    assert first["today"]["sunrise"] < first["today"]["sunset"]
    assert 20 <= first["today"]["gauge_age_minutes"] <= 40
    assert [out["alone"] for out in first["out_now"]] == [True, False]
    assert first["return"]["rod_days"] > 0


def test_the_water_of_the_demo_beat_is_full(runs):
    for run in runs[1:]:
        today = run["today"]
        assert [pool["pool"] for pool in today["pools"]] == [
            "Kiln Pot", "Twin Birches", "Heron Stone", "Long Alder", "Slate Neck", "Bothy Run", "Gravel Tail",
        ]  # fmt: skip
        assert [
            pool for pool in today["pools"] if not (pool["depth_m"] and pool["velocity_mps"] and pool["tip"])
        ] == []
        assert "not known" not in {pool["wading"] for pool in today["pools"]}
        assert today["wind"].startswith("Moderate breeze from 240 degrees")
        assert today["fish"].startswith("The water is ")


def test_the_plain_text_says_what_it_is_not(runs):
    folder, *_ = runs
    shown = demo(folder, "--once").stdout
    assert "Rodtally is not an emergency service. In danger ring 999 or 112." in shown
    assert "OVERDUE" in shown
    assert "not signed. To look at before signing:" in shown


def test_json_without_once_is_refused(tmp_path):
    refused = demo(tmp_path, "--json")
    assert refused.returncode == 1
    assert "--json goes with --once" in refused.stderr


def test_letters_lie_where_the_readme_says(runs):
    folder, *_ = runs
    assert list((folder / "mail").iterdir()) != []
    assert settings.DEMO_DIR == ROOT / ".demo"  # where nobody names another


BASE = "http://127.0.0.1:8000/api/v1"


@pytest.mark.django_db
def test_the_calls_to_paste_are_answered_and_whoever_waits_two_minutes_sees_the_alarm():
    now = timezone.now()
    scene = set_scene(now=now)
    assert sweep(now=now).raised == 0
    assert sweep(now=now + dt.timedelta(minutes=2)).raised == 1
    assert Alarm.objects.get().outing == scene.outing
    users = {"owner": scene.owner, "ghillie": scene.ghillie, "guest": scene.guest.user}
    tokens = {part: issue_token(user, label="demo", now=now) for part, user in users.items()}
    answers, part = dict.fromkeys(users, ()), ""
    for line in calls(scene, tokens, BASE).splitlines():
        if "curl" in line:
            answers[part] += ((line, answer_to(line, tokens[part])),)
        elif "TOKEN" in line:
            (part,) = [each for each in users if each in line.casefold()]
    assert all(len(told) >= 2 for told in answers.values())
    assert [line for told in answers.values() for line, status in told if status != 200] == []


def answer_to(line, token):
    """The status of what a line for curl asks for."""
    words = shlex.split(line.replace("$TOKEN", token), comments=True)
    said = list(itertools.pairwise(words))
    headers = dict(value.split(": ") for flag, value in said if flag == "-H")
    (path,) = [word.removeprefix("http://127.0.0.1:8000") for word in words if word.startswith(BASE)]
    body = [value for flag, value in said if flag == "-d"]
    if not body and "-X" not in words:
        return Client().get(path, headers=headers).status_code
    return Client().post(path, *body, content_type="application/json", headers=headers).status_code
