"""A whole plan from column generation: fix what the linear optimum takes most of, ask again for the rest.

Diving with residual column generation, as in Belov and Scheithauer (2002) for one dimension. What is
fixed first differs from dive to dive, so that several dives give different plans and columns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from random import Random
from time import monotonic

from stockyard.planning.bounds.columns import Generation
from stockyard.planning.model import Candidate, Model
from stockyard.planning.tables.pricing import Layout

# Pricings between two fixings.
PRICINGS = 15
# Money counts this many times the area of the largest piece.
MONEY_FIRST = 200
# A column taken this much is as good as taken once.
NEARLY = 0.95


def dive(
    generation: Generation, costs: Sequence[int], deadline: float, seed: int = 0
) -> tuple[Candidate, ...]:
    """Return layouts that place all parts, or as many as time and stock allow.

    The generation's question is the whole model again afterwards; the cuts of the dive are dropped,
    since they are true of its rests only.
    """
    kept, random = list(generation.cuts), Random(seed)
    fixed: list[Layout] = []
    demand, counts = list(generation.demand), list(generation.counts)
    while any(demand) and monotonic() < deadline and not generation.stop():
        generation.ask(demand, counts)
        relaxed = generation.run(costs, None, deadline=deadline, work=PRICINGS)
        chosen = _chosen(generation, relaxed.taken, demand, counts, random if seed else None)
        if not chosen:
            break
        for column, n in chosen:
            fixed += [column] * n
            for k, a in column.gives:
                demand[k] -= a * n
            if counts[column.stock] >= 0:
                counts[column.stock] -= n
    generation.ask([p.demand for p in generation.model.parts], [s.count for s in generation.model.stock])
    generation.cuts[:] = kept
    return tuple(generation.pricer.candidate(c) for c in fixed)


def ordered_costs(model: Model) -> list[int]:
    """Return costs in which money decides and area breaks ties."""
    money = [s.money for s in model.stock]
    step = min((m for m in money if m), default=1)
    most = max(s.area for s in model.stock)
    return [s.money * MONEY_FIRST * most // step + s.area for s in model.stock]


def _chosen(
    generation: Generation,
    taken: Sequence[tuple[Layout, float]],
    demand: Sequence[int],
    counts: Sequence[int],
    random: Random | None,
) -> list[tuple[Layout, int]]:
    """Return columns to fix and how often: all taken whole times, otherwise the one nearest to it."""
    left, pieces = list(demand), list(counts)
    chosen: list[tuple[Layout, int]] = []

    def take(column: Layout, times: int) -> bool:
        gives = tuple((k, min(a, left[k])) for k, a in column.gives if left[k])
        whole = min((left[k] // a for k, a in column.gives), default=0)
        n = min(times, max(whole, 1), pieces[column.stock] if pieces[column.stock] >= 0 else times)
        if not gives or n < 1 or not generation.pricer.exact(column):
            return False
        if whole < 1:
            if isinstance(column, Candidate):  # its cut tree is made already
                return False
            column = replace(column, gives=gives)
        chosen.append((column, n))
        for k, a in chosen[-1][0].gives:
            left[k] -= a * n
        if pieces[column.stock] >= 0:
            pieces[column.stock] -= n
        return True

    order = sorted(taken, key=lambda t: -t[1])
    for column, x in order:
        if x >= NEARLY:
            take(column, int(x + 1 - NEARLY))
    if not chosen:
        order.sort(key=lambda t: -(t[1] + (random.random() * 0.5 if random else 0.0)))
        for column, _ in order:
            if take(column, 1):
                break
    return chosen
