"""What a choice of pieces for a batch kept out of a plan, laid on pieces that no part of the batch needs.

The search is kept to one choice of pieces for each batch (`batches.py`). Where it found no place for any part
of a batch there, pieces of another choice are free for them after all.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

from stockyard.planning.batches import goes_with
from stockyard.planning.problem import Problem, flaws_in, lies_on, turns
from stockyard.planning.sets import joined, panels
from stockyard.planning.tree import Axis, Node, Pattern


def rescued(problem: Problem, patterns: Sequence[Pattern]) -> list[Pattern]:
    """Return the patterns and one more, of one part or set, for each part of a batch that finds a piece.

    Parts count by the indices of the joined problem.
    """
    free = replace(problem, parts=tuple(replace(p, only=None) for p in problem.parts))
    whole, batch = joined(free), _batches(problem)
    found, taken = list(patterns), defaultdict[str, set[int]](set)
    left = Counter({i: p.count for i, p in enumerate(whole.parts) if batch[i]})
    for p in patterns:
        left.subtract({i: n for i, n in p.parts().items() if batch[i]})
        for name in {name for i in p.parts() for name in batch[i]}:
            taken[name].add(p.stock)
    for i, n in (+left).items():
        for _ in range(n):
            used = Counter(p.stock for p in found)
            one = next(_alone(whole, i, batch[i], used, taken), None)
            if one is None:
                break
            found.append(one)
            for name in batch[i]:
                taken[name].add(one.stock)
    return found


def _batches(problem: Problem) -> list[set[str]]:
    """Return the batches that each part of the joined problem belongs to; a set may be of several."""
    own = [{p.batch} - {""} for p in problem.parts]
    return own + [set().union(*(own[row] for row, _ in panel.members)) for panel in panels(problem)]


def _alone(
    whole: Problem, part: int, names: set[str], used: Counter[int], taken: defaultdict[str, set[int]]
) -> Iterator[Pattern]:
    """Yield patterns that give one part alone, from pieces that go with those taken for its batches."""
    p = whole.parts[part]
    for j, s in enumerate(whole.stock):
        if s.count is not None and used[j] >= s.count:
            continue
        if not all(goes_with(whole, [whole.stock[k] for k in {*taken[name], j}]) for name in names):
            continue
        for turned in turns(p, s):
            if lies_on(p, s, turned=turned, saws=whole.saws):
                dx, dy = (p.width, p.length) if turned else (p.length, p.width)
                if flaws_in(s.flaws, s.edge_trim.x_low, s.edge_trim.y_low, dx, dy):
                    continue
                yield Pattern(j, _tree(*s.usable, dx, dy, part, whole.kerf))


def _tree(length: int, width: int, dx: int, dy: int, part: int, kerf: int) -> Node:
    """Return a rectangle with one part in its low corner."""
    strip = Node(dx, dy, part)
    if dy < width:
        rest = (Node(dx, width - dy - kerf),) if width - dy > kerf else ()
        strip = Node(dx, width, axis=Axis.RIP, children=(strip, *rest))
    if dx == length:
        return strip
    rest = (Node(length - dx - kerf, width),) if length - dx > kerf else ()
    return Node(length, width, axis=Axis.CROSSCUT, children=(strip, *rest))
