"""The solvers of OR-Tools, started once and made to keep quiet and to leave Ctrl-C alone."""

from __future__ import annotations

import ctypes
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from functools import cache
from threading import Lock
from typing import Any

# Messages less grave than this are not shown: only what ends the process is.
FATAL = 3
STDOUT, STDERR = 1, 2
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


class _Noise:
    """How many searches are under way, and where standard output really goes meanwhile."""

    lock = Lock()
    depth = 0
    kept = -1


@contextmanager
def noise_to_stderr() -> Iterator[None]:
    """Send what the solvers print by themselves to standard error: standard output is for the plan.

    The branch and bound now and then prints a line from its own depths, whatever it is told.
    """
    with _Noise.lock:
        _Noise.depth += 1
        if _Noise.depth == 1:
            _Noise.kept = _turned(STDERR)
    try:
        yield
    finally:
        with _Noise.lock:
            _Noise.depth -= 1
            if _Noise.depth == 0 and _Noise.kept >= 0:
                _flush()
                os.dup2(_Noise.kept, STDOUT)
                os.close(_Noise.kept)


def _turned(target: int) -> int:
    """Turn standard output to `target`; return a copy of where it went, -1 when it can not be turned."""
    try:
        if sys.stdout is not None:
            sys.stdout.flush()
        kept = os.dup(STDOUT)
        os.dup2(target, STDOUT)
    except (OSError, ValueError):  # there is no such file open
        return -1
    return kept


def _flush() -> None:
    """Write out what compiled code has printed so far."""
    with suppress(OSError, AttributeError, TypeError):
        ctypes.CDLL(None).fflush(None)


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
