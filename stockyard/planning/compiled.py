"""One decorator for the compiled kernels: numba where it is installed, plain Python where it is not.

Compiled code is kept in a folder that only its owner can write: whoever can write it can run what he
likes here. It is used only when it is whole, as sealed after compiling (`kept.py`), and made of this source.
Until then, and where a child is told so, the kernels run as plain Python: slower, but at once.
"""

from __future__ import annotations

import atexit
import os
from collections.abc import Callable
from contextlib import suppress
from typing import Any, TypeVar, cast

from stockyard.planning import kept

F = TypeVar("F", bound=Callable[..., Any])

try:
    if os.environ.get(kept.INTERPRET):
        raise ImportError
    from numba import config, njit
except ImportError:
    njit = None

COMPILED = njit is not None
"""Whether the kernels run as machine code."""

_FOLDER = kept.opened() if COMPILED else None


def seal() -> None:
    """Seal what was compiled so far; done at the end of a process anyway, unless that ends it by force."""
    if _FOLDER is not None:
        with suppress(OSError):
            kept.seal(_FOLDER)


atexit.register(seal)


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
    if _FOLDER is None:  # there is no folder that only we can write
        return cast(F, njit(nogil=True, **options)(function))
    # numba looks at this setting while it decorates, and no later.
    before, config.CACHE_DIR = config.CACHE_DIR, str(_FOLDER)
    try:
        return cast(F, njit(nogil=True, cache=True, **options)(function))
    finally:
        config.CACHE_DIR = before
