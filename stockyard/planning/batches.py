"""Batches: parts whose pieces must measure alike in thickness, so that one setting of a tool fits them all.

Measured pieces are alike when the thickest and the thinnest of them lie within the problem's spread. What
nobody measured counts as a batch of its own, the same for all pieces of a delivery, and goes with no other.
The search is given one choice of pieces for each batch.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from heapq import heappop, heappush
from itertools import chain, islice
from math import inf, prod

from stockyard.errors import BadInput
from stockyard.measure import show
from stockyard.planning.problem import Part, Problem, Stock, fits

# So many choices are tried with a first answer each, and as many again that differ from the best of them in
# the pieces of one batch.
MOST_TRIED = 12

Choice = Mapping[str, tuple[str, ...]]
"""Stock rows by batch."""


def batches(problem: Problem) -> dict[str, list[Part]]:
    """Return the parts of each batch that some piece can give; one part alone measures as itself."""
    found: dict[str, list[Part]] = {}
    for p in problem.parts:
        if p.batch and any(fits(p, s) for s in problem.stock if s.count != 0):
            found.setdefault(p.batch, []).append(p)
    return {name: parts for name, parts in found.items() if sum(p.count for p in parts) > 1}


def alike(problem: Problem, parts: list[Part]) -> list[tuple[Stock, ...]]:
    """Return the largest sets of stock rows that measure alike and can give some of these parts."""
    rows = [s for s in problem.stock if s.count != 0 and any(fits(p, s) for p in parts)]
    measured = sorted((s for s in rows if s.measured is not None), key=lambda s: s.measured or 0)
    found: list[tuple[Stock, ...]] = []
    for i, low in enumerate(measured):
        most = (low.measured or 0) + problem.batch_spread
        window = tuple(s for s in measured[i:] if (s.measured or 0) <= most)
        if not found or not set(window) <= set(found[-1]):
            found.append(window)
    unknown: dict[str, list[Stock]] = {}
    for s in rows:
        if s.measured is None:
            unknown.setdefault(s.delivery or s.id, []).append(s)
    return found + [tuple(same) for same in unknown.values()]


def _serves(rows: tuple[Stock, ...], parts: list[Part]) -> bool:
    return all(any(fits(p, s) for s in rows) for p in parts)


def unserved(problem: Problem) -> tuple[str, str] | None:
    """Return a batch that no pieces which measure alike can give every part of, and one of its parts."""
    for name, parts in batches(problem).items():
        if not any(_serves(rows, parts) for rows in alike(problem, parts)):
            return name, parts[0].id
    return None


def refuse_unserved(problem: Problem) -> None:
    """Look that pieces that measure alike can give every part of each batch.

    Raises:
        BadInput: they can not, though each part alone finds a piece; the text names a part of the batch.
    """
    if found := unserved(problem):
        name, part = found
        row = next(i for i, p in enumerate(problem.parts) if p.id == part)
        spread = show(problem.batch_spread, problem.unit, mark=True)
        raise BadInput(
            f"parts[{row}].batch: no pieces that measure within {spread} of each other can give every part "
            f"of the batch '{name}'"
        )


def goes_with(problem: Problem, rows: list[Stock]) -> bool:
    """Whether stock rows measure alike."""
    known = [s.measured for s in rows if s.measured is not None]
    if len(known) < len(rows):
        return not known and len({s.delivery or s.id for s in rows}) == 1
    return not known or max(known) - min(known) <= problem.batch_spread


def _options(problem: Problem, *, whole: bool) -> list[list[tuple[Stock, ...]]]:
    """Return for each batch the sets of pieces it may come from: those with the most material and those that
    seem cheapest in turn.

    `whole`: only pieces that can give every part of the batch.
    """
    options = []
    for parts in batches(problem).values():
        found = [rows for rows in alike(problem, parts) if not whole or _serves(rows, parts)]
        need = sum(p.length * p.width * p.count for p in parts)
        most = sorted(found, key=lambda rows: -sum(s.area * _pieces(s) for s in rows))
        cheap = sorted(most, key=lambda rows: _about(rows, need))
        in_turn = chain.from_iterable(zip(most, cheap, strict=True))
        options.append(list({tuple(s.id for s in rows): rows for rows in in_turn}.values()))
    return options


def _pieces(s: Stock) -> int:
    return 99 if s.count is None else s.count


def _about(rows: tuple[Stock, ...], need: int) -> tuple[float, int]:
    """Return about what pieces cost that give so much material and a quarter of it for waste."""
    left, money = need + need // 4, 0
    for s in sorted(rows, key=lambda s: (s.cost / s.area, -s.area)):
        taken = min(_pieces(s), -(-left // s.area))
        left, money = left - taken * s.area, money + taken * s.cost
        if left <= 0:
            return money, 0
    return inf, left


def _by_rank(sizes: list[int]) -> Iterator[tuple[int, ...]]:
    """Yield which option each batch may take, the first ones of all batches first."""
    if not all(sizes):
        return
    first = (0,) * len(sizes)
    heap, seen = [(0, first)], {first}
    while heap:
        rank, which = heappop(heap)
        yield which
        for k, size in enumerate(sizes):
            after = (*which[:k], which[k] + 1, *which[k + 1 :])
            if after[k] < size and after not in seen:
                seen.add(after)
                heappush(heap, (rank + 1, after))


def kept_to(problem: Problem, choice: Choice) -> Problem:
    """Return the problem with the parts of each batch kept to the stock rows chosen for it."""
    return replace(
        problem,
        parts=tuple(replace(p, only=choice[p.batch]) if p.batch in choice else p for p in problem.parts),
    )


def settled(problem: Problem, value: Callable[[Problem], tuple[int, ...]]) -> tuple[Problem, bool]:
    """Return the problem with the pieces of its batches chosen, and whether that was the only choice.

    `value` judges a choice by a first answer to it: first by how many parts it leaves out, least is best.
    """
    if not any(p.batch for p in problem.parts):
        return problem, True
    names = list(batches(problem))
    every: list[tuple[tuple[int, ...], Problem]] = []
    for whole in (True, False):
        options = _options(problem, whole=whole)

        def kept(which: tuple[int, ...], options: list[list[tuple[Stock, ...]]] = options) -> Problem:
            rows = (options[k][n] for k, n in enumerate(which))
            return kept_to(
                problem, {name: tuple(s.id for s in r) for name, r in zip(names, rows, strict=True)}
            )

        sizes = [len(found) for found in options]
        best = _least(sizes, lambda which: value(kept(which)))
        if best is None:
            continue
        every.append((best[0], kept(best[1])))
        if not best[0][0]:
            return every[-1][1], prod(sizes) == 1
    found = min(every, key=lambda one: one[0], default=None)
    return (found[1], False) if found else (problem, True)


def _least(
    sizes: list[int], value: Callable[[tuple[int, ...]], tuple[int, ...]]
) -> tuple[tuple[int, ...], tuple[int, ...]] | None:
    """Return the least value of a choice and the choice, None where there is none.

    The first choices of all batches are tried, then from the best of them one batch's after the other.
    """
    tried = {which: value(which) for which in islice(_by_rank(sizes), MOST_TRIED)}
    if not tried:
        return None
    best = min(tried, key=lambda which: tried[which])
    for k, size in enumerate(sizes):
        for n in range(size):
            which = (*best[:k], n, *best[k + 1 :])
            if which not in tried and len(tried) < 2 * MOST_TRIED:
                tried[which] = value(which)
        best = min(tried, key=lambda which: tried[which])
    return tried[best], best
