"""The linear solver of OR-Tools, made not to chat."""

from __future__ import annotations

from functools import cache
from typing import Any

# Messages less grave than this are not shown: only what ends the process is.
FATAL = 3


def linear_programme() -> Any:
    """Return an empty linear programme (GLOP)."""
    from ortools.linear_solver import pywraplp

    _hush()
    return pywraplp.Solver.CreateSolver("GLOP")


@cache
def _hush() -> None:
    """Keep the solver's messages off standard error."""
    from ortools.init.python import init

    flags = init.CppFlags()
    flags.stderrthreshold = FATAL
    flags.log_prefix = False
    init.CppBridge.set_flags(flags)
