"""First fit, as a person does it: the largest part first, from the first piece on the rack that holds it."""

from __future__ import annotations

from dataclasses import dataclass, field

from stockyard.planning.problem import Kind, Part, Problem, Stock, turns


@dataclass(slots=True)
class Opened:
    """One piece being cut: its free rectangles (length, width) and the part area taken from it."""

    stock: Stock
    free: list[tuple[int, int]]
    parts_area: int = 0


@dataclass(slots=True)
class Bench:
    """What is open so far, and how many pieces of each stock row are left."""

    kerf: int
    opened: list[Opened] = field(default_factory=list)
    left: dict[str, int | None] = field(default_factory=dict)


def first_fit(problem: Problem) -> list[Opened]:
    """Return the pieces cut: opened ones first, then offcuts in rack order, then new sheets.

    Raises:
        ValueError: a part fits nothing.
    """
    bench = Bench(problem.kerf, left={s.id: s.count for s in problem.stock})
    order = sorted(problem.stock, key=lambda s: (s.kind is Kind.FULL, s.count is None))
    parts = [p for p in problem.parts for _ in range(p.count)]
    for part in sorted(parts, key=lambda p: -p.area):
        if not (_cut_opened(bench, part) or _cut_new(bench, part, order)):
            raise ValueError(f"{part.id} fits nothing")
    return bench.opened


def _cut_opened(bench: Bench, part: Part) -> bool:
    return any(_cut(bench.kerf, piece, part) for piece in bench.opened)


def _cut_new(bench: Bench, part: Part, order: list[Stock]) -> bool:
    for stock in order:
        left = bench.left[stock.id]
        if left == 0:
            continue
        usable = stock.usable
        piece = Opened(stock, [usable])
        if _cut(bench.kerf, piece, part):
            bench.left[stock.id] = None if left is None else left - 1
            bench.opened.append(piece)
            return True
    return False


def _cut(kerf: int, piece: Opened, part: Part) -> bool:
    """Take `part` from the first free rectangle that holds it; the longer rest stays whole."""
    for turned in turns(part, piece.stock):
        a, b = (part.width, part.length) if turned else (part.length, part.width)
        for n, (length, width) in enumerate(piece.free):
            if a <= length and b <= width:
                along, across = length - a - kerf, width - b - kerf
                if along * width >= across * length:
                    rests = [(along, width), (a, across)]
                else:
                    rests = [(length, across), (along, b)]
                piece.free[n : n + 1] = [r for r in rests if min(r) > 0]
                piece.parts_area += a * b
                return True
    return False
