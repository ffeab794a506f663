"""Batches: parts whose pieces must measure alike in thickness, so that one setting of a tool fits them all.

Measured pieces are alike when the thickest and the thinnest of them lie within the problem's spread. What
nobody measured counts as a batch of its own, the same for all pieces of a delivery, and goes with no other.
The search is given one choice of pieces for each batch.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from itertools import islice, product

from stockyard.errors import BadInput
from stockyard.measure import show
from stockyard.planning.problem import Part, Problem, Stock, fits

# So many choices are tried with a first answer each; of more, those with the most material.
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


def choices(problem: Problem, *, whole: bool) -> Iterator[Choice]:
    """Yield ways to choose pieces for the batches, those with the most material first.

    `whole`: only pieces that can give every part of the batch.
    """
    options = []
    for name, parts in batches(problem).items():
        found = [rows for rows in alike(problem, parts) if not whole or _serves(rows, parts)]
        found.sort(key=lambda rows: -sum(s.area * (99 if s.count is None else s.count) for s in rows))
        options.append([(name, tuple(s.id for s in rows)) for rows in found])
    yield from (dict(choice) for choice in product(*options))


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
    every: list[tuple[tuple[int, ...], Problem]] = []
    for whole in (True, False):
        tried = [kept_to(problem, c) for c in islice(choices(problem, whole=whole), MOST_TRIED + 1)]
        every += [(value(p), p) for p in tried[:MOST_TRIED]]
        found = min(every, key=lambda one: one[0], default=None)
        if found and not found[0][0]:
            return found[1], len(tried) == 1
    return (found[1], False) if found else (problem, True)
