"""The same week gives the same rota: twice, and in another process that shuffles its sets otherwise."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from sessions.rotation.problem import Step
from sessions.rotation.solve import solve
from tests.sessions.rotation.weeks import MON, TUE, WEEK, place, rod, week

UNEVEN = week(
    [rod("a", WEEK[:3], 2), rod("b", WEEK[1:3]), rod("c", WEEK[:3], 1), rod("d", WEEK[:2], needs_ghillie=True)],
    [place(key, n, 3 + 7 * n % 11, wading=n % 3, boat=n == 4) for n, key in enumerate("uvwxyz")],
    boats=1, ghillies=1, apart=frozenset({("a", "c"), ("b", "d")}), together=frozenset(),
    pinned=frozenset({Step(MON, "am", "a", "w"), Step(MON, "am", "c", "u")}),
    barred=frozenset({Step(TUE, "am", "b", "z"), Step(TUE, "pm", "b", "z"), Step(TUE, "pm", "d", "u")}),
)  # fmt: skip
LITTLE_EFFORT = {"effort": 0.2, "tries": 500}
IN_A_FRESH_PROCESS = """
from sessions.rotation.solve import solve
from tests.sessions.rotation.test_determinism import LITTLE_EFFORT, UNEVEN, mended
print(solve(UNEVEN, **LITTLE_EFFORT)); print(solve(mended(), **LITTLE_EFFORT))
"""


def mended():
    """The week again after a pool was closed, from the rota of before."""
    former = frozenset(solve(UNEVEN, effort=0.01, tries=50).steps)
    return week(UNEVEN.rods, UNEVEN.places, closed={(TUE, "am", "u"): "low"}, former=former, boats=1, ghillies=1)


def told():
    """The whole answers, as text."""
    return f"{solve(UNEVEN, **LITTLE_EFFORT)}\n{solve(mended(), **LITTLE_EFFORT)}\n"


def test_the_same_week_twice_gives_the_same_answer():
    assert told() == told()


@pytest.mark.parametrize("seed", ["0", "4711"])
def test_a_fresh_process_with_other_hashes_gives_the_same_answer(seed):
    done = subprocess.run(
        [sys.executable, "-c", IN_A_FRESH_PROCESS], cwd=Path(__file__).parents[3],
        env=os.environ | {"PYTHONHASHSEED": seed}, capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (0, told()), done.stderr
