"""The solvers of OR-Tools, started once and made to keep quiet and to leave Ctrl-C alone.

There are two interfaces for linear programmes, for a reason that was measured (OR-Tools 9.15, seconds of
one core, invented programmes). The relaxation is solved anew after each few columns, by GLOP from its last
optimum: through the linear solver's wrapper that takes 0.4, 3.3 and 22 ms for 20, 60 and 200 parts at 400,
3,000 and 6,000 columns, through MathOpt's incremental solver 1.6, 8.5 and 33. Covers in whole numbers are
sought by HiGHS, which through the wrapper takes no limit of nodes, prints its banner, and gave no cover in
the 8 seconds (60 parts, 2,500 layouts) in which it gave one through MathOpt.
"""

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


def from_scratch() -> Any:
    """Return the parameters of a solve that forgets the last optimum, where it went wrong from there."""
    from ortools.linear_solver.pywraplp import MPSolverParameters

    parameters = MPSolverParameters()
    parameters.SetIntegerParam(parameters.INCREMENTALITY, parameters.INCREMENTALITY_OFF)
    return parameters


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
