"""Layouts in strips whose widths and lengths are finished sizes, made by chance and with care for waste.

A strip is as wide as one of its parts and is cut to length at finished lengths; where a slot of the strip
holds narrower parts they are ripped from it last. So every figure at the saw is a size of the cut list.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product
from random import Random

from stockyard.planning.problem import Problem, Stock, is_limited, turns
from stockyard.planning.sawing.operations import way_of
from stockyard.planning.sawing.tidy import OTHER, split
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.saws import reaches

# Kinds of part that one strip mixes at most, and fills of one strip that are looked at.
_MIXED, _FILLS = 3, 400
# Tries at the layout of a piece at most.
_TRIES = 5
# Share of layouts that hold few kinds of part, and how many those are at most.
_FEW_SHARE, _FEW = 0.5, 3
# Share of strips that hold fewer parts of a kind than would go in, and of layouts of few strips.
_FEWER_SHARE, _SHORT_SHARE = 0.4, 0.1


@dataclass(frozen=True, slots=True)
class Lying:
    """One way a part lies on a piece: its extents along a strip and across it."""

    part: int
    along: int
    across: int
    turned: bool


@dataclass(frozen=True, slots=True)
class Slot:
    """A share of a strip: parts side by side across it, all of one length."""

    along: int
    parts: tuple[Lying, ...]


@dataclass(frozen=True, slots=True)
class Strip:
    """Slots one after the other."""

    across: int
    slots: tuple[Slot, ...]
    used: int


class Stripper:
    """Makes layouts of one problem in strips."""

    def __init__(self, problem: Problem, rng: Random) -> None:
        self._problem, self._rng, self._kerf = problem, rng, problem.kerf
        self._limited: Stock | None = None  # the piece in hand where the shop's saws may not reach

    def pattern(self, stock: int, wanted: Mapping[int, int], axis: Axis) -> Pattern | None:
        """Return a layout of one stock row within what is wanted, its first cuts along `axis`; None: none."""
        piece = self._problem.stock[stock]
        self._limited = piece if is_limited(piece, self._problem.saws) else None
        length, width = piece.usable
        if length <= 0 or width <= 0:
            return None
        run, room = (length, width) if axis is Axis.RIP else (width, length)
        ways = self._ways(stock, wanted, axis, run, room)
        if ways and self._rng.random() < _FEW_SHARE:
            parts = sorted({w.part for w in ways})
            kinds = self._rng.sample(parts, k=min(len(parts), 1 + self._rng.randrange(_FEW)))
            ways = [w for w in ways if w.part in kinds]
        left = Counter(dict(wanted))
        strips: list[Strip] = []
        most = 1 + self._rng.randrange(_FEW) if self._rng.random() < _SHORT_SHARE else 1 << 30
        while len(strips) < most:
            strip = self._best(ways, left, run, room, axis)
            if strip is None:
                break
            strips.append(strip)
            for slot in strip.slots:
                left.subtract(w.part for w in slot.parts)
            room -= strip.across + self._kerf
        if not strips:
            return None
        return Pattern(stock, self._node(axis, length, width, strips))

    def _ways(self, stock: int, wanted: Mapping[int, int], axis: Axis, run: int, room: int) -> list[Lying]:
        found = []
        for part, count in wanted.items():
            if count <= 0:
                continue
            p = self._problem.parts[part]
            for turned in turns(p, self._problem.stock[stock]):
                dx, dy = (p.width, p.length) if turned else (p.length, p.width)
                along, across = (dx, dy) if axis is Axis.RIP else (dy, dx)
                if along <= run and across <= room and (across == room or self._reaches(axis, run, across)):
                    found.append(Lying(part, along, across, turned))
        return found

    def _best(
        self, ways: Sequence[Lying], left: Counter[int], run: int, room: int, axis: Axis
    ) -> Strip | None:
        """Return a strip that fits, mostly one that is filled well; None when nothing fits."""
        best, top = None, 0.0
        for across in sorted({w.across for w in ways if left[w.part] > 0 and w.across <= room}):
            own = self._within_reach(ways, across, run, axis)
            strip = self._fill(across, own, left, run)
            if strip is None:
                continue
            value = strip.used / (run * across) * (0.7 + 0.6 * self._rng.random())
            if value > top:
                best, top = strip, value
        return best

    def _fill(self, across: int, ways: Sequence[Lying], left: Counter[int], run: int) -> Strip | None:
        """Return a strip of one width: parts that are as wide first, narrower ones in what remains."""
        exact = [w for w in ways if w.across == across and left[w.part] > 0]
        self._rng.shuffle(exact)
        exact = exact[:_MIXED]
        free = Counter(left)
        slots = [Slot(w.along, (w,)) for w in self._longest(exact, free, run)]
        for slot in slots:
            free.subtract(w.part for w in slot.parts)
        rest = run - sum(s.along + self._kerf for s in slots)
        narrow = [w for w in ways if w.across < across]
        while True:
            stack = self._stack(narrow, free, across, rest)
            if stack is None:
                break
            slots.append(stack)
            free.subtract(w.part for w in stack.parts)
            rest -= stack.along + self._kerf
        if not exact or not any(len(s.parts) == 1 and s.parts[0].across == across for s in slots):
            return None
        used = sum(w.along * w.across for s in slots for w in s.parts)
        return Strip(across, tuple(slots), used)

    def _within_reach(self, ways: Sequence[Lying], across: int, run: int, axis: Axis) -> Sequence[Lying]:
        """Return the ways that the shop's saws cut to length from a strip, and rip from a slot of it."""
        if self._limited is None:
            return ways
        return [
            w
            for w in ways
            if (w.along == run or self._reaches(OTHER[axis], across, w.along))
            and (w.across == across or self._reaches(axis, w.along, w.across))
        ]

    def _reaches(self, axis: Axis, run: int, figure: int) -> bool:
        """Whether the shop's saws make a cut of the piece in hand."""
        piece = self._limited
        return piece is None or reaches(way_of(piece, axis), run, figure, self._problem.saws)

    def _longest(self, exact: Sequence[Lying], free: Counter[int], run: int) -> list[Lying]:
        """Return parts that fill the run best, within what is wanted."""
        if not exact:
            return []
        room, sizes = run + self._kerf, [w.along + self._kerf for w in exact]
        most = [min(free[w.part], room // size) for w, size in zip(exact, sizes, strict=True)]
        if self._rng.random() < _FEWER_SHARE:
            most = [self._rng.randint(1, n) if n else 0 for n in most]
        last = exact[-1].part
        best: tuple[int, ...] = ()
        top = 0
        for tried, counts in enumerate(product(*(range(n, -1, -1) for n in most[:-1]))):
            if tried > _FILLS:
                break
            need, same = 0, 0
            for n, w, size in zip(counts, exact, sizes, strict=False):
                need += n * size
                same += n if w.part == last else 0
            if need <= room:
                # Of the last kind as many as go in: with these others that fills it best.
                n = max(0, min(most[-1], (room - need) // sizes[-1], free[last] - same))
                need += n * sizes[-1]
                if need > top and self._within((*counts, n), exact, free):
                    best, top = (*counts, n), need
        return [w for n, w in zip(best, exact, strict=False) for _ in range(n)]

    @staticmethod
    def _within(counts: Sequence[int], exact: Sequence[Lying], free: Counter[int]) -> bool:
        """Whether no part is taken more often than it is free: it may lie in two ways."""
        taken: dict[int, int] = {}
        for n, w in zip(counts, exact, strict=True):
            taken[w.part] = taken.get(w.part, 0) + n
        return all(n <= free[part] for part, n in taken.items())

    def _stack(self, narrow: Sequence[Lying], free: Counter[int], across: int, rest: int) -> Slot | None:
        """Return narrower parts of one length side by side that fill most of a slot."""
        lengths = sorted({w.along for w in narrow if free[w.part] > 0 and w.along <= rest})
        if not lengths:
            return None
        best, top = None, 0.45 + 0.4 * self._rng.random()
        for along in lengths:
            taken: list[Lying] = []
            used: dict[int, int] = {}
            room = across
            for w in sorted((w for w in narrow if w.along == along), key=lambda w: -w.across):
                here = used.get(w.part, 0)
                n = max(0, min(free[w.part] - here, (room + self._kerf) // (w.across + self._kerf)))
                taken += [w] * n
                used[w.part] = here + n
                room -= n * (w.across + self._kerf)
            filled = sum(w.across for w in taken) / across
            if taken and filled > top:
                best, top = Slot(along, tuple(taken)), filled
        return best

    def _node(self, axis: Axis, length: int, width: int, strips: Sequence[Strip]) -> Node:
        children = [self._strip(axis, length, width, strip) for strip in strips]
        return split(axis, length, width, children, self._kerf)

    def _strip(self, axis: Axis, length: int, width: int, strip: Strip) -> Node:
        long = (length, strip.across) if axis is Axis.RIP else (strip.across, width)
        slots = []
        for slot in strip.slots:
            leaves = [self._leaf(w) for w in slot.parts]
            if len(leaves) == 1 and slot.parts[0].across == strip.across:
                slots.append(leaves[0])
                continue
            box = (slot.along, strip.across) if axis is Axis.RIP else (strip.across, slot.along)
            slots.append(split(axis, *box, leaves, self._kerf))
        return split(OTHER[axis], *long, slots, self._kerf)

    def _leaf(self, way: Lying) -> Node:
        p = self._problem.parts[way.part]
        return (
            Node(p.width, p.length, part=way.part) if way.turned else Node(p.length, p.width, part=way.part)
        )


def plans(
    problem: Problem, rng: Random, wanted: Mapping[int, int], used: Sequence[int]
) -> Iterator[list[Pattern]]:
    """Yield layouts that together cut what is wanted, as far as they go; without end.

    `used` are the stock rows of the plan that stands, one for each piece: its full pieces may be used,
    and any offcut.
    """
    stripper = Stripper(problem, rng)
    own = Counter(used)
    offcuts = [j for j, s in enumerate(problem.stock) if s.kind == "offcut"]
    while True:
        keep, more = rng.choice(((1.0, 0.0), (0.9, 0.1), (0.7, 0.2), (0.5, 0.0), (0.8, 0.5)))
        pieces = [j for j in own.elements() if problem.stock[j].kind == "full"]
        for j in offcuts:
            count = problem.stock[j].count or 0
            pieces += [
                j for n in range(min(count, own[j] + 1)) if rng.random() < (keep if n < own[j] else more)
            ]
        if rng.random() < 0.5:
            rng.shuffle(pieces)
        else:
            pieces.sort(key=lambda j: problem.stock[j].area * (0.8 + 0.4 * rng.random()))
        left = Counter(dict(wanted))
        made = []
        for j in pieces:
            found = fullest(stripper, problem, rng, j, left, 1 + rng.randrange(_TRIES))
            if found is not None:
                made.append(found)
                left.subtract(found.parts())
        yield made


def fullest(
    stripper: Stripper, problem: Problem, rng: Random, stock: int, wanted: Mapping[int, int], tries: int
) -> Pattern | None:
    """Return the layout with most of the parts wanted, of so many; None when none fits."""
    made = [stripper.pattern(stock, +Counter(wanted), rng.choice(list(Axis))) for _ in range(tries)]
    found = [p for p in made if p is not None]
    if not found:
        return None
    area = problem.parts
    return max(found, key=lambda p: sum(area[i].area * n for i, n in p.parts().items()))
