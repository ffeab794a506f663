"""Patterns of one model for whatever of it is still wanted, drawn from tables solved at given worths.

One solved table holds the best pattern of every stock row that takes the same parts the same ways, and many
nearly as good (`tables/draws.py`). Where all parts are wanted and the table is exact, its best values are a
cut in piece counts as well (`bounds/columns.py`).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil
from random import Random

import numpy as np

from stockyard.planning.bounds.piececuts import PieceCut
from stockyard.planning.model import Candidate, Model
from stockyard.planning.tables.dp import TOP_VALUE, Ints, Item, Table, table
from stockyard.planning.tables.draws import Solved
from stockyard.planning.tables.pricing import Column, Layout, Pricer


@dataclass(frozen=True, slots=True)
class Coarsening:
    """How a table that is too large is made smaller: extents are rounded up, so that all of it can be cut."""

    most_steps: float = 4e9
    """Steps a table may take."""
    lines: int = 3000
    """Lines of the finest grid along the longest sheet; each try has a third fewer."""


COARSENING = Coarsening()
MANY = 1 << 30
"""More of a part than any pattern holds."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """Patterns with what they are worth; scale and best values of the tables, where they prove a cut.

    cut: its need and holds are in worths times `scale`.
    """

    columns: list[tuple[float, Column]]
    cut: PieceCut | None
    scale: float


def roomy(
    items: Sequence[Item], sheets: Sequence[tuple[int, int]], coarsening: Coarsening = COARSENING
) -> Table:
    """Return the exact table of items, or one in which their extents are rounded up to a grid."""
    made, lines = table(items, sheets, coarsening.most_steps), coarsening.lines
    while not made.exact:
        grid = max(1, max(max(s) for s in sheets) // lines)
        rounded = [
            replace(it, length=ceil(it.length / grid) * grid, width=ceil(it.width / grid) * grid)
            for it in items
        ]
        made, lines = table(rounded, sheets, coarsening.most_steps), max(1, lines * 2 // 3)
    return replace(made, items=tuple(items))


class Supply:
    """The tables of one model; `ask` says what is wanted and what stock there is."""

    def __init__(self, model: Model, stop: Callable[[], bool]) -> None:
        """`stop` is asked before each table is solved."""
        self._pricer, self._stop = Pricer(model, roomy), stop
        self._model = model
        self._all = [p.demand for p in model.parts]
        self._exact = all(
            table(g.table.items, g.sheets, COARSENING.most_steps).exact for g in self._pricer.groups
        )
        self._live: frozenset[int] = frozenset(range(len(model.parts)))
        self._tables: list[tuple[Table | None, Ints]] = [
            (g.table, np.arange(len(g.table.items))) for g in self._pricer.groups
        ]
        self.ask(self._all, [s.count for s in model.stock])

    @property
    def steps(self) -> float:
        """About how many steps all tables take now."""
        return sum(t.steps() for t, _ in self._tables if t is not None)

    def candidate(self, column: Layout) -> Candidate:
        """Return a column as a layout with a tidy cut tree."""
        return self._pricer.candidate(column)

    def ask(self, demand: Sequence[int], counts: Sequence[int]) -> None:
        """Set what is wanted and what there is; parts of which no more is wanted leave the tables."""
        self.demand, self.counts = list(demand), list(counts)
        live = frozenset(k for k, d in enumerate(demand) if d)
        if live == self._live or not live:
            return
        self._live, self._tables = live, []
        for g in self._pricer.groups:
            chosen = [n for n, it in enumerate(g.table.items) if it.part in live]
            items = [replace(g.table.items[n], demand=demand[g.table.items[n].part]) for n in chosen]
            sheets = [s for j, s in zip(g.stock, g.sheets, strict=True) if self.counts[j]]
            fits = any(it.length <= x and it.width <= y for it in items for x, y in sheets)
            self._tables.append((roomy(items, sheets) if fits else None, np.array(chosen)))

    def draw(
        self, worth: Sequence[float], rows: dict[int, int], loss: float, seed: int, *, beyond: bool = False
    ) -> Drawn:
        """Return patterns of these stock rows, so many tries for each, when one of part k is worth worth[k].

        loss: what a pattern may be worth less than the best, as a share of that. `beyond`: the best of each
        row too as if any number of each part were wanted, which is what the tables price.
        """
        random = Random(seed)
        scale = TOP_VALUE / (self._pricer.most(worth) or 1.0)
        values = [int(y * scale) if d else 0 for y, d in zip(worth, self.demand, strict=True)]
        columns: list[tuple[float, Column]] = []
        best = [0] * len(self._model.stock)
        for n, (group, (shared, chosen)) in enumerate(zip(self._pricer.groups, self._tables, strict=True)):
            if shared is None:
                continue
            worths = np.array([values[it.part] for it in shared.items], dtype=np.float32)
            solved = Solved.of(shared, worths, self._stop)
            if solved is None:
                return Drawn([], None, scale)
            for j, sheet in zip(group.stock, group.sheets, strict=True):
                if not self.counts[j]:
                    continue
                point = shared.point(*sheet)
                best[j] = int(solved.best[point])
                found = self._drawn(solved, point, rows.get(j, 0), loss * best[j], random)
                if beyond:
                    found += solved.draw(point, [MANY] * len(self._all), 0.0, 1, random.randrange(1 << 30))
                for _, trace in found:
                    steps = _renumbered(trace, chosen)
                    column = self._pricer.traced(j, n, steps)
                    columns.append((sum(a * worth[k] for k, a in column.gives), column))
        whole = self._exact and self.demand == self._all
        need = sum(d * v for d, v in zip(self.demand, values, strict=True))
        return Drawn(columns, PieceCut(need, tuple(best)) if whole else None, scale)

    def _drawn(
        self, solved: Solved, point: tuple[int, int], tries: int, loss: float, random: Random
    ) -> list[tuple[float, Ints]]:
        if not tries:
            return []
        return solved.draw(point, self.demand, loss, tries, random.randrange(1 << 30))


def _renumbered(trace: Ints, chosen: Ints) -> Ints:
    """Return a trace with the items of a whole group in place of those chosen from it."""
    steps = trace.copy()
    is_part = steps[:, 0] == 1
    steps[is_part, 1] = chosen[steps[is_part, 1]]
    return steps
