"""Layouts without waste: rectangles with an equal side joined to larger ones until a piece is full.

Bottom-up construction (Wang 1983) that accepts no waste at all, so that few rectangles arise, and no
more of a part than is wanted. Parts that share a width or a depth, as those of cabinets do, fill
whole sheets this way.
"""

from __future__ import annotations

from bisect import insort
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import reduce
from heapq import heappop, heappush
from itertools import count
from operator import or_
from random import Random
from typing import NamedTuple

from stockyard.planning.model import AS_WRITTEN, TURNED, Candidate, Model
from stockyard.planning.packed import Packed
from stockyard.planning.sawing.tidy import split
from stockyard.planning.tables.pricing import compatible, weighed
from stockyard.planning.tree import Axis, Node

Size = tuple[int, int]


class End(Enum):
    """How far the joining came: to all rectangles, to all of some fills only, or not to the end."""

    ALL, SAMPLED, CUT_OFF = range(3)


class Leaf(NamedTuple):
    """A rectangle of one part."""

    part: int
    turned: bool


class Join(NamedTuple):
    """A rectangle made of two that lie side by side along an axis."""

    axis: Axis
    low: Join | Leaf
    high: Join | Leaf


Fill = tuple[float, Join | Leaf]
"""What the parts of a rectangle are worth, and how it is made."""

Beside = dict[int, list[tuple[int, int, int, Fill]]]
"""For each extent across an axis: extent along it, number, parts and fill of the rectangles met."""


def _is_row(making: Join | Leaf, axis: Axis) -> bool:
    """Whether a rectangle is made of two that lie side by side along this axis."""
    return isinstance(making, Join) and making.axis is axis


class _Rectangles:
    """Rectangles without waste, from small to large: for each size the sets of parts that fill it."""

    def __init__(self, most: Size, packed: Packed) -> None:
        self._most, self._packed = most, packed
        self._fills: dict[Size, dict[int, Fill]] = {}
        self._sizes: list[tuple[int, Size]] = []
        self._beside: tuple[Beside, Beside] = (defaultdict(list), defaultdict(list))
        self._single: tuple[Beside, Beside] = (defaultdict(list), defaultdict(list))
        self._number = count()
        self.pairs = 0

    def add(self, size: Size, parts: int, fill: Fill) -> None:
        """Take a rectangle in; of the ways to make it the first stays."""
        fills = self._fills.get(size)
        if fills is None:
            fills = self._fills[size] = {}
            heappush(self._sizes, (size[0] * size[1], size))
        fills.setdefault(parts, fill)

    def pop(self) -> tuple[Size, dict[int, Fill]] | None:
        """Return the smallest size that is left and its fills: all it can be made of was joined before."""
        if not self._sizes:
            return None
        _, size = heappop(self._sizes)
        return size, self._fills.pop(size)

    def join(self, size: Size, fills: Mapping[int, Fill]) -> None:
        """Join rectangles of one size with the smaller ones and with each other.

        Of two in a row one at most is a row itself: a longer row grows by one at a time.
        """
        for n, axis in enumerate((Axis.CROSSCUT, Axis.RIP)):
            beside, single = self._beside[n][size[1 - n]], self._single[n][size[1 - n]]
            for parts, fill in fills.items():
                entry = size[n], next(self._number), parts, fill
                insort(beside, entry)
                if not _is_row(fill[1], axis):
                    insort(single, entry)
            for parts, (worth, making) in fills.items():
                for extent, _, more, (extra, other) in single if _is_row(making, axis) else beside:
                    both = size[n] + extent
                    if both > self._most[n]:
                        break
                    self.pairs += 1
                    if not self._packed.too_many(parts + more):
                        whole = (both, size[1]) if n == 0 else (size[0], both)
                        self.add(whole, parts + more, (worth + extra, Join(axis, other, making)))


@dataclass(frozen=True, slots=True)
class Joining:
    """How many rectangles are joined."""

    sets: float = 8.0
    """Sets of parts kept for one size of rectangle at first, fewer when a round cannot be ended."""
    most_sets: float = 64.0
    """The same at most."""
    full_sets: int = 300
    """The same for a full piece."""
    pairs: int = 50_000
    """Pairs of rectangles looked at in the first round."""
    most_pairs: int = 1_000_000
    """The same in any later one; a million take half a second."""
    blur: float = 0.3
    """How far chance blurs prices where sets are chosen by them."""


class Joiner:
    """Looks for layouts without waste, round by round; the same seed gives the same rounds."""

    def __init__(self, model: Model, seed: int, manner: Joining | None = None) -> None:
        self.model, self._manner = model, manner or Joining()
        self._random = Random(seed)
        self._groups = compatible(model)
        self._pairs, self._sets = self._manner.pairs, self._manner.sets
        self._full: list[Candidate] = []  # layouts without waste of the rounds so far
        self.exhausted = False
        """Whether every layout without waste has been given."""

    def round(self, best: Iterable[Candidate], prices: Sequence[float]) -> list[Candidate]:
        """Return layouts without waste, of many those whose parts are dear.

        `best` is the best answer, some of which later rounds leave alone.
        """
        everything = [p.demand for p in self.model.parts]
        demand = everything if self._pairs == self._manner.pairs else self._rest(everything, list(best))
        found: list[Candidate] = []
        ends = [self._fill(group, demand, prices, found) for group in self._groups]
        self.exhausted = demand == everything and all(e is End.ALL for e in ends)
        self._full += found
        manner, cut_off = self._manner, End.CUT_OFF in ends
        self._pairs = min(manner.most_pairs, 4 * self._pairs)
        self._sets = max(1.0, self._sets / 2) if cut_off else min(manner.most_sets, 1.3 * self._sets)
        return found

    def _rest(self, demand: list[int], best: list[Candidate]) -> list[int]:
        """Return what is wanted beside some layouts without waste, of a plan or earlier rounds.

        With few parts left the joining comes to its end, and what it finds goes with those layouts.
        """
        rest, many = list(demand), self._random.randrange(max(1, len(best)))
        layouts = [c for c in best if self._is_full(c)] + self._full
        for c in self._random.sample(layouts, len(layouts)):
            if not many:
                break
            if all(n <= rest[k] for k, n in c.gives):
                many -= 1
                for k, n in c.gives:
                    rest[k] -= n
        return rest

    def _is_full(self, c: Candidate) -> bool:
        """Whether a layout has no waste."""
        parts, piece = self.model.parts, self.model.stock[c.stock]
        return sum(n * parts[k].length * parts[k].width for k, n in c.gives) == piece.length * piece.width

    def _fill(
        self, stock: Sequence[int], demand: Sequence[int], prices: Sequence[float], found: list[Candidate]
    ) -> End:
        """Append layouts without waste on stock rows that take the same parts."""
        wanted: dict[Size, list[int]] = defaultdict(list)
        for j in stock:
            wanted[self.model.stock[j].length, self.model.stock[j].width].append(j)
        packed = Packed(demand)
        most = max(length for length, _ in wanted), max(width for _, width in wanted)
        rectangles = _Rectangles(most, packed)
        for k, (part, n) in enumerate(zip(self.model.parts, demand, strict=True)):
            ways = reduce(or_, (part.lies[j] for j in stock)) if n else 0
            if ways & AS_WRITTEN:
                rectangles.add((part.length, part.width), packed.one[k], (prices[k], Leaf(k, False)))
            if ways & TURNED:
                rectangles.add((part.width, part.length), packed.one[k], (prices[k], Leaf(k, True)))
        end, limit = End.ALL, self._pairs // len(self._groups)
        while popped := rectangles.pop():
            size, fills = popped
            for j in wanted.get(size, ()):
                for _, making in self._some(fills, self._manner.full_sets).values():
                    found.append(weighed(self.model, j, self._node(making)))
            if rectangles.pairs > limit:
                return End.CUT_OFF
            some = self._some(fills, int(self._sets))
            if len(some) < len(fills):
                end = End.SAMPLED
            rectangles.join(size, some)
        return end

    def _some(self, fills: dict[int, Fill], most: int) -> dict[int, Fill]:
        """Return at most so many of the fills, the dear ones first, blurred by chance."""
        if len(fills) <= most:
            return fills
        blur = self._manner.blur
        blurred = sorted((-f[0] * (1.0 + blur * self._random.random()), n) for n, f in fills.items())
        return {n: fills[n] for _, n in blurred[:most]}

    def _node(self, making: Join | Leaf) -> Node:
        """Return a rectangle as a cut tree."""
        kerf = self.model.problem.kerf
        if isinstance(making, Leaf):
            part = self.model.parts[making.part]
            length, width = part.length - kerf, part.width - kerf
            return Node(*((width, length) if making.turned else (length, width)), part=part.row)
        low, high = self._node(making.low), self._node(making.high)
        if making.axis is Axis.CROSSCUT:
            return split(making.axis, low.length + kerf + high.length, low.width, [low, high], kerf)
        return split(making.axis, low.length, low.width + kerf + high.width, [low, high], kerf)
