"""Batches in lists: parts from pieces that measure alike in thickness, so that one setting fits all.

"batch A", "same batch", "one batch": what a person says of shelves that go into one dado.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace

from stockyard.cutlist.model import Row

_SAID = re.compile(
    r"(?:(?:the |all )?(?:same|one)|from one)?\s*batch(?:\s*[:=]?\s*([^\W_][\w-]{0,29}))?$", re.IGNORECASE
)
_NO = frozenset(("", "-", "no", "n", "none"))
_YES = frozenset(("x", "yes", "y", "same", "one"))
UNNAMED = "batch"


def batch_said(text: str) -> str:
    """Return the batch that words name when they speak of nothing else, `batch` for one without a name."""
    m = _SAID.match(text.strip())
    return (m[1] or UNNAMED) if m else ""


def batch_cell(text: str) -> str:
    """Return what a cell of a column of batches says: a name, empty for none."""
    folded = text.strip().casefold()
    if folded in _NO:
        return ""
    return UNNAMED if folded in _YES else batch_said(text) or text.strip()[:40]


def with_batches(rows: Iterable[Row]) -> list[Row]:
    """Return the rows; "same batch" below a row of a named one is that batch."""
    out, last = [], ""
    for row in rows:
        named = replace(row, batch=last) if row.batch == UNNAMED and last else row
        last = named.batch or last
        out.append(named)
    return out
