"""Ctrl-C must end whatever has worked out a rota: the solver, left alone, keeps the signal to itself."""

import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.processes
SOLVE_THEN_INTERRUPT = """
import datetime as dt, signal
from sessions.rotation import Place, Problem, Rod
from sessions.rotation.solve import solve
rod = Rod("a", "Rod a", (dt.date(2026, 5, 4),), 3)
place = Place("x", "Pool x", 1, holds=1, wading=0, worth=10)
signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background job would inherit it ignored
assert len(solve(Problem((rod,), (place,), ("am",))).steps) == 1
try:
    signal.raise_signal(signal.SIGINT)
except KeyboardInterrupt:
    print("heard")
"""


def test_ctrl_c_is_heard_after_a_rota_was_worked_out():
    done = subprocess.run(
        [sys.executable, "-c", SOLVE_THEN_INTERRUPT],
        cwd=Path(__file__).parents[2], capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stdout) == (0, "heard\n"), done.stderr
