"""Edge bands: what one is, the cut size under a finished one and back, how much of it a part takes."""

from __future__ import annotations

from collections.abc import Sequence

EDGES = ("L1", "L2", "W1", "W2")
"""L1 L2 lie along a part's length, W1 W2 along its width."""


def cut_size(length: int, width: int, edges: Sequence[str], thickness: int, trim: int = 0) -> tuple[int, int]:
    """Return the cut (length, width) under a finished size whose `edges` have bands `thickness` thick.

    Lengths are ticks. A band on an edge along the length takes its thickness from the width, and the other
    way round. `trim` is left on each banded edge that is trimmed after the saw, before its band or with it.
    """
    along, across = _counts(edges)
    return length - across * (thickness - trim), width - along * (thickness - trim)


def finished_size(
    length: int, width: int, edges: Sequence[str], thickness: int, trim: int = 0
) -> tuple[int, int]:
    """Return the finished (length, width) of a cut size: the way back of `cut_size`."""
    along, across = _counts(edges)
    return length + across * (thickness - trim), width + along * (thickness - trim)


def strip_length(length: int, width: int, edges: Sequence[str], over: int) -> int:
    """Return how much band one part of this finished size takes: each strip `over` longer at both ends."""
    along, across = _counts(edges)
    return along * (length + 2 * over) + across * (width + 2 * over)


def _counts(edges: Sequence[str]) -> tuple[int, int]:
    """Return how many edges along the length and along the width are banded."""
    return sum(e.startswith("L") for e in edges), sum(e.startswith("W") for e in edges)
