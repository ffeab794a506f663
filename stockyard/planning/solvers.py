"""The solvers of OR-Tools, started once and made to keep quiet and to leave Ctrl-C alone."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from threading import Lock
from typing import Any

# Messages less grave than this are not shown: only what ends the process is.
FATAL = 3
_STARTING = Lock()


def linear_programme() -> Any:
    """Return an empty linear programme (GLOP)."""
    from ortools.linear_solver import pywraplp

    _start()
    return pywraplp.Solver.CreateSolver("GLOP")


def constraint_solver(workers: int = 1) -> Any:
    """Return a CP-SAT solver."""
    _start()
    return _quiet_solver(workers)


def covering_solver() -> Callable[..., Any]:
    """Return a function (programme, **limits) that solves a whole-number linear programme (HiGHS)."""
    from ortools.math_opt.python import mathopt

    _start()

    def solve(programme: Any, **limits: Any) -> Any:
        return mathopt.solve(programme, mathopt.SolverType.HIGHS, params=mathopt.SolveParameters(**limits))

    return solve


def _quiet_solver(workers: int) -> Any:
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    # Otherwise it would leave Ctrl-C to the system after a solve, which ends the process.
    solver.parameters.catch_sigint_signal = False
    return solver


def _start() -> None:
    """Set the library up before the first solve: two threads doing so at once would end the process."""
    with _STARTING:
        _set_up()


@cache
def _set_up() -> None:
    from ortools.init.python import init
    from ortools.sat.python import cp_model

    flags = init.CppFlags()
    flags.stderrthreshold = FATAL
    flags.log_prefix = False
    init.CppBridge.set_flags(flags)
    _quiet_solver(1).solve(cp_model.CpModel())
