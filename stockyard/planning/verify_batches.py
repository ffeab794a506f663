"""The verifier's look at batches: what the pieces measure that parts of one batch were really cut from."""

from __future__ import annotations

from collections.abc import Iterator

from stockyard.planning.plan import Plan
from stockyard.planning.problem import Problem, Stock


def batch_faults(problem: Problem, plan: Plan) -> Iterator[str]:
    """Yield a fault for each batch whose pieces do not measure alike."""
    for name, pieces in pieces_by_batch(problem, plan).items():
        if not measure_alike(problem, pieces):
            yield f"batch '{name}': its parts come from pieces that do not measure alike"


def pieces_by_batch(problem: Problem, plan: Plan) -> dict[str, list[Stock]]:
    """Return the stock rows that the parts of each batch are cut from."""
    stock = {s.id: s for s in problem.stock}
    batch = {p.id: p.batch for p in problem.parts}
    found: dict[str, list[Stock]] = {}
    for layout in plan.layouts:
        for name in {batch.get(p.part, "") for p in layout.parts} - {""}:
            found.setdefault(name, []).append(stock[layout.stock])
    return found


def measure_alike(problem: Problem, pieces: list[Stock]) -> bool:
    """Whether all are measured and within the spread, or all are unmeasured pieces of one delivery."""
    known = [s.measured for s in pieces if s.measured is not None]
    unknown = {s.delivery or s.id for s in pieces if s.measured is None}
    if unknown:
        return len(unknown) == 1 and not known
    return not known or max(known) - min(known) <= problem.batch_spread
