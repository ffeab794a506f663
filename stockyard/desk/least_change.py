"""A plan mended: layouts that an upset does not touch stay, the rest is planned from what remains.

What a card shows stays as it was, to the tick; only the copies of a part are counted anew over the plan, as
everywhere, and the cuts of new layouts come after those that stay.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from stockyard.desk.questions import AT_SAW, Question
from stockyard.desk.stored_layouts import flawed, layout_of
from stockyard.kinds import Kind
from stockyard.planning.plan import Bound, Layout, Plan, Status, Turn
from stockyard.planning.problem import Part, Problem, Stock, flaws_in
from stockyard.planning.sets import groups_for
from stockyard.planning.verify import faults
from stockyard.yard.model import Piece
from stockyard.yard.planned import StoredLayout


@dataclass(frozen=True, slots=True)
class Standing:
    """What of an old plan can stay in the answer to a question: layouts on pieces of that question.

    `layouts` keep the order of their cards; `turns` are the cuts of each in the old order of work.
    `left` is the question of what is still to be planned, None when nothing is. `moved` are the numbers of
    those that lie on another full piece now.
    """

    layouts: tuple[Layout, ...]
    rows: tuple[StoredLayout, ...]
    left: Question | None
    moved: frozenset[int] = frozenset()


def standing(
    question: Question,
    problem: Problem,
    old: Sequence[StoredLayout],
    *,
    full: Collection[str],
    called: Mapping[str, str],
    twins: bool = True,
) -> Standing:
    """Return what of the uncut layouts `old` can stay in the answer to `question`.

    `problem` is the question's with a row for every piece, `full` the tags of the old layouts that are full
    pieces; one of these that is not as it was is replaced by one like it where `twins` may be. `called`
    names parts that were renamed since. Where the job wants less of a part than the old layouts give, those
    are kept that lie at the saw, then those that give most.
    """
    wanted = Counter({p.id: p.count for p in problem.parts})
    parts = {p.id: p for p in problem.parts}
    bench = {p.tag for every in question.pieces.values() for p in every if p.state in AT_SAW}
    on = _Pieces(question, problem, {x.tag for x in old if x.tag}, full if twins else ())
    kept: dict[int, tuple[Layout, StoredLayout]] = {}
    for x in sorted(old, key=lambda x: (x.tag not in bench, -len(x.placed), x.number)):
        layout = renamed(layout_of(x), called)
        gives = Counter(p.part for p in layout.parts)
        if x.method is not problem.method:
            continue
        if not gives <= wanted or not all(_fits(parts[p.part], p.dx, p.dy) for p in layout.parts):
            continue
        stock = on.like(x)
        if stock is None or not _accepted(problem, stock, gives, parts):
            continue
        layout = flawed(replace(layout, stock=stock), problem)
        if _spoiled(layout, problem):
            continue
        wanted -= gives
        kept[x.number] = layout, x
    layouts = tuple(kept[n][0] for n in sorted(kept))
    rows = tuple(kept[n][1] for n in sorted(kept))
    moved = frozenset(x.number for layout, x in kept.values() if x.tag not in (None, layout.stock))
    return Standing(layouts, rows, _left(question, wanted, {layout.stock for layout in layouts}), moved)


def _fits(part: Part, dx: int, dy: int) -> bool:
    return (dx, dy) in ((part.length, part.width), (part.width, part.length))


def _spoiled(layout: Layout, problem: Problem) -> bool:
    """Whether a part lies on a flaw of its piece."""
    flaws = next(s.flaws for s in problem.stock if s.id == layout.stock)
    return any(flaws_in(flaws, p.x, p.y, p.dx, p.dy) for p in layout.parts)


def _accepted(problem: Problem, stock: str, gives: Iterable[str], parts: Mapping[str, Part]) -> bool:
    material = next(s.material for s in problem.stock if s.id == stock)
    return all(material in (parts[name].materials or (material,)) for name in gives)


def emptiest(kept: Standing, problem: Problem) -> int | None:
    """Return the number of the layout that gives least of its piece among those whose material is asked for.

    None where nothing is left to plan or no such layout stays.
    """
    if kept.left is None:
        return None
    stock = {s.id: s for s in problem.stock}
    asked = [p.materials for p in kept.left.problem.parts]
    found = [
        (sum(p.dx * p.dy for p in layout.parts) / stock[layout.stock].area, row.number)
        for layout, row in zip(kept.layouts, kept.rows, strict=True)
        if any(m is None or stock[layout.stock].material in m for m in asked)
    ]
    return min(found)[1] if found else None


def _left(question: Question, wanted: Counter[str], used: Collection[str]) -> Question | None:
    left = question.without_pieces(used)
    asked = tuple(replace(p, count=wanted[p.id]) for p in left.problem.parts if wanted[p.id])
    groups = groups_for(left.problem.groups, wanted)
    return replace(left, problem=replace(left.problem, parts=asked, groups=groups)) if asked else None


class _Pieces:
    """Finds the piece that a stored layout is cut from; each piece once."""

    def __init__(
        self, question: Question, problem: Problem, named: Collection[str], full: Collection[str]
    ) -> None:
        self._rows, self._full = {s.id for s in problem.stock}, full
        every = [p for pieces in question.pieces.values() for p in pieces]
        self._pieces = {p.tag: p for p in every}
        spare = [p for p in every if p.kind is Kind.FULL and not p.flaws and p.tag not in named]
        self._spare = sorted(spare, key=lambda p: (p.state not in AT_SAW, p.depth, p.tag))

    def like(self, x: StoredLayout) -> str | None:
        """Return the stock row for a layout: its piece, one like it, or the row of a piece to buy."""
        if x.tag is None:
            return x.stock if x.stock in self._rows else None
        piece = self._pieces.get(x.tag)
        if piece is not None and _same(piece, x):
            return x.tag
        if x.tag not in self._full:
            return None
        twin = next((p for p in self._spare if _same(p, x)), None)
        if twin is None:
            return None
        self._spare.remove(twin)
        return twin.tag


def _same(piece: Piece, x: StoredLayout) -> bool:
    return (piece.material_id, piece.length, piece.width) == (x.material_id, x.length, x.width)


def renamed(
    layout: Layout, called: Mapping[str, str] | None = None, copies: Counter[str] | None = None
) -> Layout:
    """Return a layout with its copies named on from `copies`, which is brought up to date.

    `called` gives parts another name.
    """
    called, copies = called or {}, Counter() if copies is None else copies
    parts = {p.part for p in layout.parts}
    sawn = {c.piece for c in layout.cuts}

    def name(given: str | None) -> str | None:
        part, _, number = (given or "").rpartition(" ")
        if given is None or given in sawn or part not in parts or not number.isdecimal():
            return given
        new = called.get(part, part)
        copies[new] += 1
        return f"{new} {copies[new]}"

    cuts = tuple(replace(c, gives=(name(c.gives[0]), name(c.gives[1]))) for c in layout.cuts)
    if not cuts:
        copies.update(called.get(p.part, p.part) for p in layout.parts)
    placed = tuple(replace(p, part=called.get(p.part, p.part)) for p in layout.parts)
    return replace(layout, parts=placed, cuts=cuts)


def mended(problem: Problem, kept: Standing, rest: Plan | None) -> Plan | None:
    """Return the plan of the layouts that stay and of `rest`, None where that does not hold."""
    new = rest.layouts if rest else ()
    copies: Counter[str] = Counter()
    layouts = tuple(renamed(x, copies=copies) for x in (*kept.layouts, *new))
    unplaced = rest.unplaced if rest else ()
    plan = Plan(
        status=Status.SHORT if unplaced else Status.FEASIBLE,
        bound=Bound(0, 0, ""),
        layouts=layouts,
        unplaced=unplaced,
        work=tuple(_work(kept.rows, rest)),
    )
    return None if faults(problem, plan) else plan


def standing_in(anew: Plan, kept: Standing, problem: Problem) -> tuple[Standing, Plan]:
    """Return the layouts of `kept` that give what one of a new plan gives, and the new plan without those.

    Where a new layout lies on another full piece like it, the two pieces change places in the new plan.
    """
    stock = {s.id: s for s in problem.stock}
    left = dict(enumerate(anew.layouts))
    stay: list[tuple[Layout, StoredLayout]] = []
    for layout, row in zip(kept.layouts, kept.rows, strict=True):
        alike = [
            n
            for n, new in left.items()
            if _gives(new) == _gives(layout) and _alike(stock[new.stock], stock[layout.stock])
        ]
        if not alike:
            continue
        n = min(alike, key=lambda n: (left[n].stock != layout.stock, n))
        spare = left.pop(n).stock
        stay.append((layout, row))
        for m, other in left.items():
            if spare != layout.stock and other.stock == layout.stock:
                left[m] = replace(other, stock=spare)
    number = {old + 1: new for new, old in enumerate(left, 1)}
    rest = replace(
        anew,
        layouts=tuple(left.values()),
        work=tuple(Turn(number[t.layout], t.step) for t in anew.work if t.layout in number),
    )
    return Standing(tuple(x for x, _ in stay), tuple(row for _, row in stay), None), rest


def _gives(layout: Layout) -> Counter[str]:
    return Counter(p.part for p in layout.parts)


def _alike(a: Stock, b: Stock) -> bool:
    full = a.kind is b.kind is Kind.FULL and (a.count is None) == (b.count is None)
    like = (a.material, a.length, a.width, a.flaws, ()) == (b.material, b.length, b.width, (), b.flaws)
    return a.id == b.id or (full and like)


def _work(rows: Sequence[StoredLayout], rest: Plan | None) -> Iterator[Turn]:
    """Yield the cuts of the layouts that stay in their old order, then those of the others."""
    turns = sorted((c.turn or 0, n, c.step) for n, x in enumerate(rows, 1) for c in x.cuts)
    yield from (Turn(n, step) for _, n, step in turns)
    if rest is None:
        return
    work = rest.work or tuple(Turn(n, c.step) for n, x in enumerate(rest.layouts, 1) for c in x.cuts)
    yield from (Turn(len(rows) + turn.layout, turn.step) for turn in work)


def arranged(plan: Plan, order: Sequence[int]) -> Plan:
    """Return a plan with its layouts in another order: `order` are their indices."""
    at = {old: n for n, old in enumerate(order, 1)}
    copies: Counter[str] = Counter()
    layouts = tuple(renamed(plan.layouts[n], copies=copies) for n in order)
    return replace(plan, layouts=layouts, work=tuple(Turn(at[t.layout - 1], t.step) for t in plan.work))
