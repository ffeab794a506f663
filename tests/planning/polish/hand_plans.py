"""Cutting plans for the six jobs of tests/data/saw_jobs.json, made by hand as a careful cabinetmaker would.

A line is a piece: its stock row, the first direction, then its strips: the size of each and what comes off it
in turn. A part stands by its name, parts side by side in one slot of a strip with a plus.
"""

from __future__ import annotations

from stockyard.planning.plan import Bound, Plan, Status
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.finish import finish
from stockyard.planning.sawing.tidy import OTHER, split
from stockyard.planning.tree import Axis, Node, Pattern

MM = 3200
RIP, CROSS = Axis.RIP, Axis.CROSSCUT
Strip = tuple[int, list[str]]
Line = tuple[str, Axis, list[Strip]]

KITCHEN: list[Line] = [
    ("sheet birch 18", RIP, [(560, ["side"] * 3), (560, ["side"] * 3)]),
    ("sheet birch 18", RIP, [(560, ["bottom"] * 4), (540, ["shelf"] * 4), (100, ["stretcher"] * 4)]),
    ("birch 18 1", CROSS, [(720, ["side"] * 2)]),
    ("birch 18 5", RIP, [(100, ["stretcher"] * 4)]),
    ("sheet birch 6", RIP, [(594, ["back"] * 3), (594, ["back"])]),
]
CRATES: list[Line] = [
    ("sheet birch 12", RIP, [(280, ["side", "side", "end", "end"])] * 4 + [(345, ["lid"] * 3)]),
]
DRAWERS: list[Line] = [
    (
        "sheet birch 12",
        RIP,
        [(140, ["drawer side", *["drawer end"] * 4])] * 4
        + [(140, ["drawer side"] * 4)] * 3
        + [(140, ["drawer side"] * 2 + ["drawer end"] * 2)],
    ),
    ("sheet birch 6", RIP, [(488, ["drawer bottom"] * 4)] * 2),
    ("birch 6 2", RIP, [(488, ["drawer bottom"])]),
]
FACE_FRAME: list[Line] = [
    (
        "pine 1x6 3000",
        RIP,
        [(90, ["kick", "kick", "rail + mid rail"]), (45, ["stile", "stile", "rail", "rail", "rail"])],
    ),
    ("pine 1x6 o1", RIP, [(45, ["stile", "rail"]), (45, ["stile", "rail"]), (30, ["mid rail"] * 2)]),
    ("pine 1x6 o3", RIP, [(45, ["stile", "rail", "rail"])]),
    ("pine 1x6 o0", RIP, [(45, ["stile"]), (45, ["stile"]), (30, ["mid rail"])]),
    ("pine 1x6 o2", RIP, [(45, ["stile"])]),
]
BOOKCASE: list[Line] = [
    ("sheet birch 18", RIP, [(300, ["upright"]), (300, ["upright"]), (300, ["top"]), (280, ["shelf"] * 2)]),
    ("sheet birch 18", RIP, [(280, ["shelf"] * 2)] * 4),
]
BED: list[Line] = [
    ("pine 1x6 4200", CROSS, [(2050, ["head"]), (2050, ["head"])]),
    ("pine 1x6 4200", CROSS, [(1750, ["rail"]), (1150, ["slat"]), (1150, ["slat"])]),
    ("pine 1x6 4200", CROSS, [(1750, ["rail"]), (1150, ["slat"]), (1150, ["slat"])]),
    ("pine 1x6 4200", CROSS, [(1750, ["rail"]), (1500, ["cleat", "cleat"]), (820, ["short slat"])]),
    ("pine 1x6 4200", CROSS, [(1750, ["rail"]), (1150, ["slat"]), (820, ["short slat"])]),
    ("pine 1x6 4200", CROSS, [(820, ["short slat"])] * 5),
    ("pine 1x6 o0", CROSS, [(820, ["short slat"])]),
    ("pine 1x6 o1", CROSS, [(1150, ["slat"])]),
    ("pine 1x6 o3", CROSS, [(1500, ["cleat"])]),
]
BY_HAND = {
    "kitchen": KITCHEN, "crates": CRATES, "drawers": DRAWERS, "face frame": FACE_FRAME, "bookcase": BOOKCASE,
    "bed": BED,
}  # fmt: skip


def by_hand(problem: Problem, lines: list[Line]) -> Plan:
    """Return the plan that cuts the lines, in the order of work of every plan."""
    rows = {s.id: n for n, s in enumerate(problem.stock)}
    patterns = [
        Pattern(rows[stock], _tree(problem, rows[stock], axis, strips)) for stock, axis, strips in lines
    ]
    return finish(problem, patterns, bound=Bound(0, 0, ""), status=Status.FEASIBLE, tidied=False)


def _tree(problem: Problem, row: int, axis: Axis, strips: list[Strip]) -> Node:
    length, width = problem.stock[row].usable
    children = []
    for size, names in strips:
        box = (length, size * MM) if axis is RIP else (size * MM, width)
        parts = [_slot(problem, axis, size * MM, name) for name in names]
        whole = len(parts) == 1 and (parts[0].length, parts[0].width) == box
        children.append(parts[0] if whole else split(OTHER[axis], *box, parts, problem.kerf))
    return split(axis, length, width, children, problem.kerf)


def _slot(problem: Problem, axis: Axis, across: int, names: str) -> Node:
    parts = [_leaf(problem, name) for name in names.split(" + ")]
    if len(parts) == 1:
        return parts[0]
    box = (parts[0].length, across) if axis is RIP else (across, parts[0].width)
    return split(axis, *box, parts, problem.kerf)


def _leaf(problem: Problem, name: str) -> Node:
    number = next(n for n, p in enumerate(problem.parts) if p.id == name)
    return Node(problem.parts[number].length, problem.parts[number].width, part=number)
