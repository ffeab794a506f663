"""From a cut tree to the saw: every cut as a split of one piece on the bench in two.

The planner's tree fills the usable rectangle. The real edges lie one edge trim further out; a
leftover there keeps the factory edge, a part there is trimmed, many parts with one cut where no
leftover loses by it.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from itertools import count, product
from string import ascii_lowercase
from typing import NamedTuple

from stockyard.effort import Effort
from stockyard.planning.plan import Cut, Layout, Leftover, Placement
from stockyard.planning.problem import Edge, Method, Problem, Stock, Trim, flaws_in, is_limited
from stockyard.planning.sawing.amid import parted
from stockyard.planning.sawing.operations import way_of
from stockyard.planning.sawing.tidy import along, fills, is_rest, sawdust, tidy
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.planning.worth import Worth
from stockyard.saws import is_heavy, reaches

# What a cut out of reach counts, and what a trim does, which is made by hand (common practice, no source).
BEYOND, BY_HAND = 1000 * Effort().cut, 5 * Effort().cut


class Margins(NamedTuple):
    """What must still come off each side of a piece: before and after along x, then along y."""

    x0: int = 0
    x1: int = 0
    y0: int = 0
    y1: int = 0


# In the order in which a person trims: the long reference edge, a square end, then the far sides.
_SIDES = ("y0", "x0", "y1", "x1")
_AXIS = {"x0": Axis.CROSSCUT, "x1": Axis.CROSSCUT, "y0": Axis.RIP, "y1": Axis.RIP}
_FAR = {Axis.CROSSCUT: "x1", Axis.RIP: "y1"}


@dataclass(frozen=True, slots=True, eq=False)
class Bench:
    """A rectangle on the bench: a part, a leftover, waste, or what one more cut divides in two.

    `at` is where the blade starts, from the low edge of this rectangle; `fence` the size of the side
    kept between fence and blade: the low side, but the high side when the low one is only trim.
    """

    x: int
    y: int
    dx: int
    dy: int
    part: int | None = None
    kept: bool = False
    axis: Axis | None = None
    at: int = 0
    fence: int = 0
    sides: tuple[Bench | None, Bench | None] = (None, None)


class Sawyer:
    """Turns the patterns of one problem into benches: decides where trims go."""

    def __init__(self, problem: Problem, *, tidied: bool = True) -> None:
        """`tidied` False keeps the trees as the planner made them."""
        self._problem, self.naming = problem, Naming(problem)
        self._kerf = problem.kerf
        self._worth: Worth = problem.worth
        self._turn_for = problem.worth if tidied else None
        self._tidy: dict[Pattern, Node] = {}
        self._known: dict[tuple[int, Margins], tuple[int, int]] = {}
        self._cut = 0  # what a cut costs on the piece in hand
        self._limited: Stock | None = None  # the piece in hand where the shop's saws may not reach
        self._heavy = 0  # what a cut that needs two people counts beyond any cut while trims are placed

    def benches(self, pattern: Pattern) -> Iterator[Bench]:
        """Yield the piece with its trims first; where it is heavy also broken down before it is trimmed.

        And parted amid its strips.
        """
        yield self.bench(pattern)
        stock = self._problem.stock[pattern.stock]
        effort = self._problem.effort_on(stock)
        if not effort.heavy or not is_heavy(stock.length, stock.width, self._problem.saws):
            return
        self._heavy = effort.heavy
        if any(stock.edge_trim):
            yield self.bench(pattern)
        root = self._root(pattern)
        apart = root if stock.flaws else parted(root, self._kerf, self._problem.saws)
        if apart is not root:
            yield self._from(apart, stock)
        self._heavy = 0

    def bench(self, pattern: Pattern) -> Bench:
        """Return the whole piece of `pattern`, which holds a part, with every cut that it takes."""
        return self._from(self._root(pattern), self._problem.stock[pattern.stock])

    def _root(self, pattern: Pattern) -> Node:
        """Return the tree of a pattern, tidied."""
        root = self._tidy.get(pattern)
        if root is None:
            stock = self._problem.stock[pattern.stock]
            kept = bool(stock.flaws)  # where parts lie between flaws, none is moved
            turned = tidy(pattern.root, self._kerf, self._turn_for, self._problem.effort_on(stock))
            root = self._tidy[pattern] = pattern.root if kept else turned
        return root

    def _from(self, root: Node, stock: Stock) -> Bench:
        """Return a piece with every cut of a tree."""
        self._known.clear()
        self._cut = self._problem.effort_on(stock).cut
        self._limited = stock if is_limited(stock, self._problem.saws) else None
        whole = Bench(0, 0, stock.length, stock.width)
        return self._bench(root, whole, Margins(*stock.edge_trim)) or whole

    def _bench(self, node: Node, box: Bench, margins: Margins) -> Bench | None:
        if is_rest(node):
            return self._loose(box)
        side = self._next_trim(node, margins)
        if side:
            rest = margins._replace(**{side: 0})
            axis, size = _AXIS[side], getattr(margins, side)
            if side.endswith("0"):
                low, high = self._halves(box, axis, size - self._kerf)
                assert high is not None
                inner = self._bench(node, high, rest)
                return _cut(box, axis, size - self._kerf, (self._loose(low), inner), low_kept=False)
            at = (box.dx if axis is Axis.CROSSCUT else box.dy) - size
            low, high = self._halves(box, axis, at)
            assert low is not None
            inner = self._bench(node, low, rest)
            return _cut(box, axis, at, (inner, self._loose(high)))
        if node.axis is None:
            return Bench(box.x, box.y, box.dx, box.dy, node.part)
        return self._peel(node, 0, box, margins)

    def _peel(self, node: Node, index: int, box: Bench, margins: Margins) -> Bench | None:
        """Take the children of `node` off the low edge one by one, from `index` on."""
        axis = node.axis
        assert axis is not None
        child, own = node.children[index], self._share(node, index, margins)
        if index == len(node.children) - 1:
            return self._bench(child, box, own)
        at = child.length + own.x0 if axis is Axis.CROSSCUT else child.width + own.y0
        low, high = self._halves(box, axis, at)
        assert high is not None
        first = None if low is None else self._bench(child, low, own)  # the blade may take all of a rest
        rest = self._peel(node, index + 1, high, margins)
        return _cut(box, axis, at, (first, rest), low_kept=first is not None)

    def _share(self, node: Node, index: int, margins: Margins) -> Margins:
        """Return the margins of one child of a split, the sawdust behind the last one included."""
        if not (any(margins) or index == len(node.children) - 1):
            return margins
        last = index == len(node.children) - 1
        dust = sawdust(node, self._kerf) if last else 0
        x0, x1, y0, y1 = margins
        if node.axis is Axis.CROSSCUT:
            return Margins(x0 if index == 0 else 0, x1 + dust if last else 0, y0, y1)
        return Margins(x0, x1, y0 if index == 0 else 0, y1 + dust if last else 0)

    def _next_trim(self, node: Node, margins: Margins) -> str | None:
        """Return the side of `node` to trim now, None when its margins go on to its children."""
        if not any(margins):
            return None
        sides = self._sides(node, margins)
        if node.axis is None and not self._limited:
            return sides[0]
        values = self._ways(node, margins)
        best = values.index(max(values))
        return sides[best] if best < len(sides) else None

    def _ways(self, node: Node, margins: Margins) -> list[tuple[int, int]]:
        """Return what it comes to if a side is trimmed now, each side in turn; or, of a split, none."""
        values = [self._trimmed(node, margins, s) for s in self._sides(node, margins)]
        return values if node.axis is None else [*values, self._passed(node, margins)]

    def _sides(self, node: Node, margins: Margins) -> list[str]:
        """Return the sides that can be trimmed now; the far end of a split is its last child's affair."""
        far = _FAR[node.axis] if node.axis else None
        return [s for s in _SIDES if s != far and getattr(margins, s) > 0]

    def _value(self, node: Node, margins: Margins) -> tuple[int, int]:
        """Worth of leftovers less the price of cuts, and (negative) cuts, under the best choice of trims."""
        key = (id(node), margins)
        if key not in self._known:
            self._known[key] = self._best(node, margins)
        return self._known[key]

    def _best(self, node: Node, m: Margins) -> tuple[int, int]:
        if is_rest(node):
            return self._worth.of(node.length + m.x0 + m.x1, node.width + m.y0 + m.y1), 0
        if node.axis is None and not self._limited:
            cuts = sum(side > 0 for side in m)
            lifted = self._lifted(node.length, node.width)
            return -cuts * (self._cut + lifted), -cuts
        return max(self._ways(node, m), default=(0, 0))

    def _trimmed(self, node: Node, margins: Margins, side: str) -> tuple[int, int]:
        worth, cuts = self._value(node, margins._replace(**{side: 0}))
        m = margins
        box = node.length + m.x0 + m.x1, node.width + m.y0 + m.y1
        if self._limited:
            axis = _AXIS[side]
            low, high = (m.x0, m.x1) if axis is Axis.CROSSCUT else (m.y0, m.y1)
            sets = fills(node, axis) and not (low and high)
            figure = along(node, axis) + low + high - getattr(m, side)
            far = self._is_far(axis, box, figure, trims=not sets)
            worth -= (BEYOND if sets else BY_HAND) if far else 0
        return worth - self._cut - self._lifted(*box), cuts - 1

    def _is_far(self, axis: Axis, box: tuple[int, int], figure: int, *, trims: bool = False) -> bool:
        """Whether no saw of the shop cuts a piece of this size so, at this figure."""
        if self._limited is None:
            return False
        run = box[1] if axis is Axis.CROSSCUT else box[0]
        return not reaches(way_of(self._limited, axis), run, figure, self._problem.saws, trims=trims)

    def _lifted(self, length: int, width: int) -> int:
        """Return what a cut costs beyond any cut when a piece of this size is in hand."""
        return self._heavy if self._heavy and is_heavy(length, width, self._problem.saws) else 0

    def _passed(self, node: Node, margins: Margins) -> tuple[int, int]:
        cuts = 1 - len(node.children)
        worth = cuts * self._cut
        m = margins
        size = {
            Axis.CROSSCUT: node.length + m.x0 + m.x1, Axis.RIP: node.width + m.y0 + m.y1,
        }  # fmt: skip
        for i, child in enumerate(node.children):
            own = self._share(node, i, margins)
            w, c = self._value(child, own)
            if i < len(node.children) - 1:
                assert node.axis is not None
                low = child.length + own.x0 if node.axis is Axis.CROSSCUT else child.width + own.y0
                box = size[Axis.CROSSCUT], size[Axis.RIP]
                worth -= self._lifted(*box) + BEYOND * self._is_far(node.axis, box, low)
                size[node.axis] -= low + self._kerf
            worth, cuts = worth + w, cuts + c
        return worth, cuts

    def _halves(self, box: Bench, axis: Axis, at: int) -> tuple[Bench | None, Bench | None]:
        """Return what the blade leaves below and above `at`, None where nothing is left."""
        far = at + self._kerf
        if axis is Axis.CROSSCUT:
            low = Bench(box.x, box.y, at, box.dy)
            high = Bench(box.x + far, box.y, box.dx - far, box.dy)
        else:
            low = Bench(box.x, box.y, box.dx, at)
            high = Bench(box.x, box.y + far, box.dx, box.dy - far)
        return tuple(b if b.dx > 0 and b.dy > 0 else None for b in (low, high))  # type: ignore[return-value]

    def _loose(self, box: Bench | None) -> Bench | None:
        """Return a rectangle without parts as a leftover, or as nothing when the shop bins it."""
        if box is None or not self._worth.keeps(box.dx, box.dy):
            return None
        return Bench(box.x, box.y, box.dx, box.dy, kept=True)


def _cut(
    box: Bench, axis: Axis, at: int, sides: tuple[Bench | None, Bench | None], *, low_kept: bool = True
) -> Bench:
    kept = sides[0] if low_kept else sides[1]
    assert kept is not None
    fence = kept.dx if axis is Axis.CROSSCUT else kept.dy
    return Bench(box.x, box.y, box.dx, box.dy, None, False, axis, at, fence, sides)


class Naming:
    """What things on the bench are called over one whole plan."""

    def __init__(self, problem: Problem) -> None:
        self.taken = frozenset(p.id for p in problem.parts)
        """The ids of the parts, which nothing else is called."""
        self.leftover = _leftover_word(self.taken)
        self.copies: Counter[str] = Counter()
        """How many copies of each part have a name."""

    def next_of(self, part: str) -> str:
        """Return the name of the next copy of a part."""
        self.copies[part] += 1
        return f"{part} {self.copies[part]}"


def layout(problem: Problem, stock: Stock, bench: Bench, order: Sequence[Bench], naming: Naming) -> Layout:
    """Write a bench as a layout, its cuts in the given order; `naming` is brought up to date."""
    parts: list[Placement] = []
    lefts: list[Leftover] = []
    names: dict[Bench, str] = {bench: "stock"}
    between, trim = _letters(naming.taken), stock.edge_trim

    def name(side: Bench | None) -> str | None:
        if side is None:
            return None
        if side.part is not None:
            part = problem.parts[side.part].id
            parts.append(Placement(part, side.x, side.y, side.dx, side.dy))
            return naming.next_of(part)
        if side.kept:
            box = side.x, side.y, side.dx, side.dy
            lefts.append(Leftover(*box, uncut_edges(bench, trim, side), flaws_in(stock.flaws, *box)))
            return f"{naming.leftover} {len(lefts)}"
        names[side] = next(between)
        return names[side]

    cuts = []
    if bench.axis is None:
        name(bench)
    for step, b in enumerate(order, 1):
        assert b.axis is not None
        low, high = name(b.sides[0]), name(b.sides[1])
        cuts.append(
            Cut(step=step, piece=names[b], direction=b.axis, at=b.at, fence=b.fence, gives=(low, high))
        )
    if problem.method is Method.ROUTER:
        cuts = []
    return Layout(stock=stock.id, parts=tuple(parts), cuts=tuple(cuts), leftovers=tuple(lefts))


def uncut_edges(whole: Bench, trim: Trim, box: Bench) -> tuple[Edge, ...]:
    """Return the edges of `box` that are edges of the whole piece and still want a trim."""
    ends = (box.x, whole.dx - box.x - box.dx, box.y, whole.dy - box.y - box.dy)
    return tuple(edge for edge, off, margin in zip(Edge, ends, trim, strict=True) if margin and not off)


def _letters(taken: Collection[str]) -> Iterator[str]:
    """Yield a, b, ... z, aa, ab, ..., but no part's id; copies of parts end in a number."""
    for size in count(1):
        for letters in product(ascii_lowercase, repeat=size):
            name = "".join(letters)
            if name not in taken and name != "stock":
                yield name


def _leftover_word(ids: Collection[str]) -> str:
    """Return `left`, longer where a part has that very id."""
    word = "left"
    while word in ids:
        word += "over"
    return word


def in_order(bench: Bench) -> Iterator[Bench]:
    """Yield every piece that comes from `bench`, itself included, each before what it gives."""
    todo: list[Bench | None] = [bench]
    while todo:
        b = todo.pop()
        if b is not None:
            yield b
            todo += [b.sides[1], b.sides[0]]
