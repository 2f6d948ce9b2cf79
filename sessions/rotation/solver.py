"""The solver as every model here runs it: one worker, one seed, its own time; the wall clock only to stop."""

from typing import Any

from ortools.sat.python import cp_model

SEED = 20_141


def run(
    model: cp_model.CpModel, *, effort: float, seconds: float, linear: int = 2
) -> tuple[Any, cp_model.CpSolver]:
    """Solve within `effort` of the solver's own time; `seconds` on the wall only as a safety stop.

    `linear` is how much goes into the linear relaxation; 2 is all that can.
    """
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.linearization_level = linear
    solver.parameters.max_deterministic_time = effort
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.catch_sigint_signal = False  # else Ctrl-C belongs to it, and afterwards to nobody
    return solver.solve(model), solver


def whole_up(bound: float) -> int:
    """The whole number at or above a solver's bound, past its rounding."""
    nearest = round(bound)
    return nearest if abs(bound - nearest) < 1e-6 else int(bound // 1) + 1
