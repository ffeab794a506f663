"""Lines at even distances in place of raster points, where those are too many for a beam.

A line stands for all extents since the line before it. A set of parts at two of them therefore knows
its own extents (`beam.py`), so that whatever is found can be cut; what is lost are sets that the more
valuable ones of the same lines crowd out.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from stockyard.planning.tables.dp import Ints, Item, Table, exact_steps, table

# Steps that the exact table of a beam may take, and those of the lines in place of a larger one.
BEAM_STEPS, LINE_STEPS = 4e6, 6e4


def beam_table(items: Sequence[Item], sheets: Sequence[tuple[int, int]]) -> Table:
    """Return the exact table of `items` for sheets of these extents, or lines where a beam is slow on it."""
    if exact_steps(items, sheets) <= BEAM_STEPS:
        return table(items, sheets)
    return lines(items, sheets, LINE_STEPS)


def lines(items: Sequence[Item], sheets: Sequence[tuple[int, int]], steps: float) -> Table:
    """Return a table of lines that takes about so many steps; the largest sheet ends at a line."""
    longest, widest = (max(s[side] for s in sheets) for side in (0, 1))
    # A cut may lie at half of the lines before each, in both directions.
    spacing = (longest * widest * (longest + widest) / 4 / steps) ** (1 / 3)
    xs, ys = (_spaced(extent, spacing) for extent in (longest, widest))
    first_x = np.searchsorted(xs, [it.length for it in items]).astype(np.int64)
    first_y = np.searchsorted(ys, [it.width for it in items]).astype(np.int64)
    mirror = np.array([], np.int64)
    return Table(tuple(items), xs, ys, _beyond(xs), _beyond(ys), first_x, first_y, 1, mirror, by_lines=True)


def _spaced(extent: int, spacing: float) -> Ints:
    """Return lines from nothing to the extent, about so far apart."""
    return np.unique(np.linspace(0, extent, max(2, round(extent / spacing) + 1)).astype(np.int64))


def _beyond(lines: Ints) -> Ints:
    """Return for lines i and a the last that may hold what goes with some of a within i, 0 if below a."""
    i, a = np.indices((len(lines), len(lines)))
    other = np.minimum(i - 1, np.searchsorted(lines, lines[i] - lines[a - 1]))
    return np.where((a > 0) & (other >= a), other, 0).astype(np.int32)
