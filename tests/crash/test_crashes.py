"""A hundred and more days that go wrong on each database, and an auditor who was not told how it works.

Processes are ended with SIGKILL at every named point, stopped past their lease, run two at a time, cut
off by the database, and given clocks that were set back, in summer and on both nights of the clock's change.
"""

import json
import os
import shutil
import subprocess
import sys

import psycopg
import pytest

from safety.services.points import POINTS
from tests.crash.auditor import QUESTIONS, letters
from tests.processes.service import PROGRAMS, ROOT

pytestmark = pytest.mark.crash
SEEDS = 100
SHARES = 2
PATIENCE_S = 600
"""An end to what hangs; no bound on speed, since the machine may be busy with other things."""


def environment(url, mail):
    return {
        "PATH": f"{PROGRAMS}:{os.environ['PATH']}",
        "SECRET_KEY": "for-the-crash-tests-only-0123456789-abcdefghij-ABCDEFGHIJ-xyz",
        "DATABASE_URL": url, "EMAIL_URL": f"file:///{mail}", "INSECURE_HTTP": "1", "LOG_LEVEL": "ERROR",
    }  # fmt: skip


def migrated(url, mail):
    """The tables, made once; each share of the seeds gets a copy."""
    subprocess.run(
        [sys.executable, "manage.py", "migrate", "-v0"], cwd=ROOT, env=environment(url, mail), check=True,
        timeout=PATIENCE_S,
    )  # fmt: skip


@pytest.fixture(scope="module")
def urls(tmp_path_factory):
    """A database for each share of the seeds."""
    server, folder = os.environ.get("TEST_DATABASE_URL"), tmp_path_factory.mktemp("crash")
    if not server:
        first, *others = (folder / f"crash{n}.sqlite3" for n in range(SHARES))
        migrated(f"sqlite:///{first}", folder)
        for other in others:
            shutil.copy(first, other)
        yield [f"sqlite:///{path}" for path in (first, *others)]
        return
    names = [f"rodtally_crash_{os.getpid()}_{n}" for n in range(SHARES)]
    found = [server.rpartition("/")[0] + f"/{name}" for name in names]
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {names[0]}")
        migrated(found[0], folder)
        for name in names[1:]:
            connection.execute(f"CREATE DATABASE {name} TEMPLATE {names[0]}")
        yield found
        for name in names:
            connection.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(scope="module")
def told(urls, tmp_path_factory):
    """What the runners found, all seeds together."""
    running = []
    for number, url in enumerate(urls):
        mail = tmp_path_factory.mktemp(f"share{number}") / "mail"
        share = SEEDS // SHARES
        words = [sys.executable, "-m", "tests.crash.runner", str(number * share), str((number + 1) * share)]
        with (mail.parent / "said.log").open("w") as log:
            process = subprocess.Popen(
                words, cwd=ROOT, env=environment(url, mail), stdout=subprocess.PIPE, stderr=log
            )
        running.append((process, mail.parent))
    found = []
    for process, folder in running:
        out, _ = process.communicate(timeout=3 * PATIENCE_S)
        assert process.returncode == 0, (folder / "said.log").read_text()[-3000:]
        found.append(json.loads(out))
    return found


def test_nothing_is_lost_and_no_record_doubled_whatever_is_killed(told):
    assert {seed: faults for share in told for seed, faults in share["faults"].items()} == {}


def test_every_seed_was_played(told):
    assert sum(share["seeds"] for share in told) == SEEDS


@pytest.mark.parametrize(("what", "least"), [("killed", 100), ("held", 10), ("alarms", 300), ("messages", 1000)])
def test_enough_went_wrong_for_that_to_mean_something(told, what, least):
    assert sum(share["met"].get(what, 0) for share in told) >= least


def test_processes_were_ended_at_every_point(told):
    ended = {name for share in told for name in share["met"]} & set(POINTS)
    assert ended == set(POINTS)


def test_the_auditor_asks_about_every_part_of_the_promise():
    assert len(QUESTIONS) == 10


def test_the_letter_box_counts_a_repeat(tmp_path):
    letter = "Message-ID: <12-34@rodtally>\nTo: a@example.org\n\nRing.\n" + "-" * 79 + "\n"
    (tmp_path / "one.log").write_text(letter * 2)
    assert letters(tmp_path) == {"1234": 2}
