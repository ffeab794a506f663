"""One decorator for the compiled kernels: numba where it is installed, plain Python where it is not."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

F = TypeVar("F", bound=Callable[..., Any])

try:
    from numba import njit
except ImportError:
    njit = None

COMPILED = njit is not None
"""Whether the kernels run as machine code."""


def drop_stale(sources: Path) -> None:
    """Delete compiled code that is older than any module in the same folder or below it.

    numba looks at the module of a function alone, but the constants of others are compiled into it.
    """
    newest = max((f.stat().st_mtime for f in sources.rglob("*.py")), default=0.0)
    for kept in sources.rglob("__pycache__/*.nb?"):
        try:
            if kept.stat().st_mtime < newest:
                kept.unlink()
        except OSError:  # another process was quicker, or the folder can only be read
            continue


if COMPILED:
    drop_stale(Path(__file__).parent)


def jit(function: F) -> F:
    """Compile `function`, without the interpreter lock and kept on disk; without numba return it as it is."""
    return _compiled(function)


def lean(function: F) -> F:
    """Compile a function that makes no arrays, also on its way: one that only works on those it is given.

    Who holds an array is then not counted, which takes a quarter to a half of the time of small functions.
    `_nrt` is numba's own switch for that and not promised to stay: one reason why its versions are limited.
    """
    return _compiled(function, _nrt=False)


def _compiled(function: F, **options: bool) -> F:
    if njit is None:
        return function
    try:
        return cast(F, njit(nogil=True, cache=True, **options)(function))
    except RuntimeError:  # no folder can be written to hold the cache
        return cast(F, njit(nogil=True, **options)(function))
