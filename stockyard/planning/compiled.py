"""One decorator for the compiled kernels: numba where it is installed, plain Python where it is not."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

F = TypeVar("F", bound=Callable[..., Any])

try:
    from numba import njit
except ImportError:
    njit = None

COMPILED = njit is not None
"""Whether the kernels run as machine code."""


def jit(function: F) -> F:
    """Compile `function`, without the interpreter lock and kept on disk; without numba return it as it is."""
    if njit is None:
        return function
    try:
        return cast(F, njit(nogil=True, cache=True)(function))
    except RuntimeError:  # no folder can be written to hold the cache
        return cast(F, njit(nogil=True)(function))
