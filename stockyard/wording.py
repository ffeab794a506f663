"""Words that every room writes alike."""

from __future__ import annotations


def count(n: int, thing: str) -> str:
    """Write `1 offcut`, `3 offcuts`, `no offcuts`."""
    return f"{n or 'no'} {thing}{'' if n == 1 else 's'}"
