"""A panel on the bench cut open into the members of its set, one after the other from the low edge."""

from __future__ import annotations

from dataclasses import replace

from stockyard.planning.problem import Problem
from stockyard.planning.sawing.cuts import Bench
from stockyard.planning.sets import Panel, panels
from stockyard.planning.tree import Axis


def opened(problem: Problem, bench: Bench) -> Bench:
    """Return a bench whose parts are those of the joined problem with every panel cut open.

    The same bench where the problem has no sets.
    """
    return _opened(bench, panels(problem), len(problem.parts), problem.kerf) if problem.groups else bench


def _opened(bench: Bench, sets: tuple[Panel, ...], first: int, kerf: int) -> Bench:
    if bench.part is not None and bench.part >= first:
        panel = sets[bench.part - first]
        return _apart(replace(bench, part=None), panel.axis, panel.members, kerf)
    if bench.axis is None:
        return bench
    low, high = (None if side is None else _opened(side, sets, first, kerf) for side in bench.sides)
    return replace(bench, sides=(low, high))


def _apart(box: Bench, axis: Axis, members: tuple[tuple[int, int], ...], kerf: int) -> Bench:
    boxes, left = [], box
    for part, size in members:
        far = size + kerf
        if axis is Axis.CROSSCUT:
            boxes.append((left, replace(left, dx=size, part=part)))
            left = replace(left, x=left.x + far, dx=left.dx - far)
        else:
            boxes.append((left, replace(left, dy=size, part=part)))
            left = replace(left, y=left.y + far, dy=left.dy - far)
    _, made = boxes.pop()
    for (whole, low), (_, size) in zip(reversed(boxes), reversed(members[:-1]), strict=True):
        made = replace(whole, axis=axis, at=size, fence=size, sides=(low, made))
    return made
