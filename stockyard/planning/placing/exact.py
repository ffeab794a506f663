"""Whether all parts fit one sheet, decided by CP-SAT: boxes that do not overlap."""

from __future__ import annotations

from math import gcd
from typing import Any

from stockyard.planning.model import AS_WRITTEN, TURNED, Candidate, Model
from stockyard.planning.placing.spots import blocked, candidate
from stockyard.planning.solvers import constraint_solver
from stockyard.planning.tree import Spot

# With more parts than this it is not even tried.
MOST_PARTS = 60


def one_sheet(
    model: Model, stock: int, *, seconds: float, work: float | None = None, seed: int
) -> tuple[bool | None, Candidate | None]:
    """Return whether all parts fit one piece of a stock row (None: not decided) and how.

    `work` limits the solver's deterministic seconds. Flaws are not asked about: a piece with some is not
    decided, unless not even a clean one would do.
    """
    from ortools.sat.python import cp_model

    piece, gap = model.stock[stock], model.problem.kerf
    step = gcd(*(e for p in model.parts for e in (p.length, p.width)))
    long, broad = piece.length // step, piece.width // step
    cp, boxes = cp_model.CpModel(), []
    if sum(p.demand for p in model.parts) > MOST_PARTS:
        return None, None
    for k, p in enumerate(model.parts):
        before: Any = None
        for _ in range(p.demand):
            box = _Box(cp, long, broad, p.length // step, p.width // step, p.lies[stock])
            if before is not None and p.lies[stock] in (AS_WRITTEN, TURNED):
                cp.add(before.x * broad + before.y <= box.x * broad + box.y)
            before = box
            boxes.append((k, box))
    every = [b for _, b in boxes]
    cp.add_no_overlap_2d([b.along for b in every], [b.across for b in every])
    cp.add_cumulative([b.along for b in every], [b.high for b in every], broad)
    cp.add_cumulative([b.across for b in every], [b.wide for b in every], long)
    solver = constraint_solver()
    solver.parameters.max_time_in_seconds = seconds
    if work is not None:
        solver.parameters.max_deterministic_time = work
    solver.parameters.random_seed = seed
    solver.parameters.use_timetabling_in_no_overlap_2d = True
    solver.parameters.use_energetic_reasoning_in_no_overlap_2d = True
    status = solver.solve(cp)
    if status == cp_model.INFEASIBLE:
        return False, None
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE) or blocked(model.problem.stock[piece.row]):
        return None, None
    placed = []
    for k, b in boxes:
        x, y, w, h = (step * int(solver.value(v)) for v in (b.x, b.y, b.wide, b.high))
        placed.append(Spot(w - gap, h - gap, model.parts[k].row, x=x, y=y))
    return True, candidate(model, stock, placed)


class _Box:
    """One part to be placed: its low corner and extents as variables or figures."""

    def __init__(self, cp: Any, wide: int, high: int, length: int, width: int, lies: int) -> None:
        both = lies == AS_WRITTEN | TURNED and length != width
        dx, dy = (length, width) if lies & AS_WRITTEN else (width, length)
        self.wide: Any = dx
        self.high: Any = dy
        if both:
            turned = cp.new_bool_var("")
            self.wide, self.high = length + (width - length) * turned, width + (length - width) * turned
        low = min(length, width)
        self.x = cp.new_int_var(0, wide - (low if both else dx), "")
        self.y = cp.new_int_var(0, high - (low if both else dy), "")
        self.along = cp.new_interval_var(self.x, self.wide, self._end(cp, self.x + self.wide, wide), "")
        self.across = cp.new_interval_var(self.y, self.high, self._end(cp, self.y + self.high, high), "")

    @staticmethod
    def _end(cp: Any, sum_: Any, most: int) -> Any:
        end = cp.new_int_var(0, most, "")
        cp.add(end == sum_)
        return end
