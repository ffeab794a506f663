"""Invented jobs for the tests of the papers: random cut trees, turned into cards as a plan's are."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import count

from stockyard.desk.cards import Line, drawn_parts, steps_of
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit
from stockyard.planning.plan import Bound, Plan, Status
from stockyard.planning.problem import Kind, Part, Problem, Stock, Trim
from stockyard.planning.sawing.finish import finish
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.planning.worth import Worth
from stockyard.printing.job_order import numbered
from stockyard.printing.papers import (
    BuyLine,
    CutCard,
    DrawnLeftover,
    JobPapers,
    Lift,
    Lying,
    PullEntry,
    PullList,
    Stop,
)
from stockyard.saws import Saws
from stockyard.tags import tag_number

NAMES = (
    "side",
    "shelf",
    "drawer front",
    "back",
    "toe kick",
    "divider left",
    "door",
    "Zwischenboden",
    "étagère",
)
CUES = ("longest of 4 there", "the only MDF there", "3rd from the top", "2 alike there: go by the tag")
MATERIALS = ("birch ply 3/4", "birch ply 1/2", "MDF 3/4", "red oak 4/4", "fir 2x4")


def inch(figure: float) -> int:
    """Return inches as ticks."""
    return round(figure * TICKS_PER_INCH)


def mm(figure: float) -> int:
    """Return millimetres as ticks."""
    return round(figure * TICKS_PER_MM)


class Tree:
    """A random cut tree over one piece; its parts are collected as they come."""

    def __init__(self, rng: random.Random, unit: Unit, kerf: int, first: int) -> None:
        self.rng, self.kerf, self.numbers = rng, kerf, count(first)
        self.grid = TICKS_PER_INCH // 16 if unit is Unit.INCH else TICKS_PER_MM
        self.parts: list[Part] = []

    def grow(self, length: int, width: int, depth: int, axis: Axis) -> Node:
        """Return a node of exactly this size."""
        extent = length if axis is Axis.CROSSCUT else width
        small = extent < 5 * self.kerf + 60 * TICKS_PER_MM
        if depth == 0 or small or self.rng.random() < 0.25:
            if self.rng.random() < 0.18:
                return Node(length, width)
            return self._part(length, width)
        other = Axis.RIP if axis is Axis.CROSSCUT else Axis.CROSSCUT
        extents = self._pieces(extent)
        children = []
        for size in extents:
            box = (size, width) if axis is Axis.CROSSCUT else (length, size)
            children.append(self.grow(*box, depth - 1, other))
        return Node(length, width, axis=axis, children=tuple(children))

    def _pieces(self, extent: int) -> list[int]:
        if self.rng.random() < 0.3:
            equal = self.rng.randint(2, 6)
            size = (extent - equal * self.kerf) // equal // self.grid * self.grid
            sizes = [size] * equal
        else:
            least = TICKS_PER_INCH // 2 if self.rng.random() < 0.95 else self.grid
            first = max(round(extent * self.rng.uniform(0.1, 0.7)) // self.grid * self.grid, least)
            sizes = [first]
        rest = extent - sum(sizes) - len(sizes) * self.kerf
        return [*sizes, rest] if rest > 0 else sizes

    def _part(self, length: int, width: int) -> Node:
        for i, known in enumerate(self.parts):
            if (known.length, known.width) == (length, width):
                self.parts[i] = Part(id=known.id, length=length, width=width, count=known.count + 1)
                return Node(length, width, part=i)
        name = f"{self.rng.choice(NAMES)}-{next(self.numbers)}"
        self.parts.append(Part(id=name, length=length, width=width))
        return Node(length, width, part=len(self.parts) - 1)


SIZES = ((96, 48), (60, 60), (49, 97), (30.5, 22.25), (14, 40), (192, 3.5), (120, 5.5), (24, 24), (72, 9.25))


def random_plan(
    seed: int, pieces: int | None = None, *, saws: Saws | None = None
) -> tuple[Problem, Plan, Unit]:
    """Return an invented job of a few pieces and its finished plan."""
    rng = random.Random(seed)
    unit = rng.choice((Unit.INCH, Unit.MM))
    kerf = rng.choice((0, inch(0.125), mm(3), mm(3.2), inch(3 / 32)))
    stock, patterns, parts = [], [], []
    for n in range(pieces or rng.randint(1, 5)):
        length, width = (inch(size) for size in rng.choice(SIZES))
        full = rng.random() < 0.4
        trim = rng.choice((0, inch(0.125))) if full else 0
        tree = Tree(rng, unit, kerf, len(parts))
        root = tree.grow(
            length - 2 * trim, width - 2 * trim, rng.choice((1, 2, 2, 3, 3, 4, 5)), rng.choice(tuple(Axis))
        )
        if not tree.parts:
            tree.parts.append(Part(id=f"panel-{n}", length=root.length, width=root.width))
            root = Node(root.length, root.width, part=0)
        stock.append(
            Stock(id=tag_number(seed * 50 + n), kind=Kind.FULL if full else Kind.OFFCUT, 
                  edge_trim=Trim.all_round(trim),
                  material=rng.choice(MATERIALS), length=length, width=width, grain=rng.random() < 0.7)
        )  # fmt: skip
        patterns.append(Pattern(n, _shifted(root, len(parts))))
        parts += tree.parts
    problem = Problem(stock=tuple(stock), parts=tuple(parts), unit=unit, kerf=kerf, worth=Worth(),
                      saws=saws or Saws())  # fmt: skip
    return problem, finish(problem, patterns, bound=Bound(0, 0, ""), status=Status.FEASIBLE), unit


def _shifted(node: Node, by: int) -> Node:
    children = tuple(_shifted(child, by) for child in node.children)
    part = None if node.part is None else node.part + by
    return Node(node.length, node.width, part=part, axis=node.axis, children=children)


def cards_of(problem: Problem, plan: Plan, unit: Unit) -> tuple[CutCard, ...]:
    """Return the cut cards of a plan with invented places."""
    stock = {s.id: s for s in problem.stock}
    lines = {p.id: Line(length=p.length, of=p.count) for p in problem.parts}
    cards = []
    for n, (layout, parts) in enumerate(zip(plan.layouts, drawn_parts(plan.layouts, lines), strict=True), 1):
        piece = stock[layout.stock]
        leftovers = tuple(
            DrawnLeftover(
                name=f"left {i}",
                tag=tag_number(70_000 + 20 * n + i),
                place=f"S{1 + i % 4}",
                x=r.x,
                y=r.y,
                dx=r.dx,
                dy=r.dy,
            )
            for i, r in enumerate(layout.leftovers, 1)
        )
        cards.append(
            CutCard(
                job="Hall bench", date="24 Nov 2026", unit=unit, number=n, of=len(plan.layouts), tag=piece.id,
                material=piece.material, length=piece.length, width=piece.width, full=piece.kind is Kind.FULL,
                grain=piece.grain, place=f"from P{n}-1", kerf=problem.kerf, parts=parts, leftovers=leftovers,
                steps=steps_of(layout, piece, problem.kerf, problem.saws),
            )
        )  # fmt: skip
    return numbered(cards, plan.work, problem.saws)


def random_cards(seed: int, pieces: int | None = None) -> tuple[CutCard, ...]:
    """Return the cut cards of an invented job."""
    return cards_of(*random_plan(seed, pieces))


def lift(kilos: float) -> Lift:
    """Return an invented verdict in the words of the handling room."""
    people, advice = None, "cart, or break it down first"
    if kilos <= 25:
        people, advice = 1, "one person, held close"
    elif kilos <= 33.3:
        people, advice = 2, "two people, or a panel cart"
    return Lift(weight=round(kilos * 1000), people=people, advice=advice, source="HSE L23 guide figures")


def random_pull_list(seed: int, pieces: int = 15) -> PullList:
    """Return an invented walk."""
    rng = random.Random(seed)
    stops, n = [], 0
    while n < pieces:
        flat = rng.random() < 0.5
        entries = []
        for _ in range(min(pieces - n, rng.randint(1, 4))):
            n += 1
            length, width = (inch(size) for size in rng.choice(SIZES))
            over = tuple(
                Lying(tag=tag_number(rng.randrange(9999)), what="birch ply 3/4, full sheet", lift=lift(32.7))
                for _ in range(rng.choice((0, 0, 0, 1, 3)) if flat else 0)
            )
            entries.append(
                PullEntry(
                    tag=tag_number(seed * 100 + n),
                    material=rng.choice(MATERIALS),
                    length=length,
                    width=width,
                    full=rng.random() < 0.4,
                    lift=lift(rng.choice((2.4, 8.1, 17.5, 28.0, 44.9))),
                    tell_apart=rng.choice(CUES),
                    on_top=over,
                )
            )
        put_back = "put back on top, the last one off first" if any(e.on_top for e in entries) else ""
        storage = "flat stack" if flat else rng.choice(("upright slot", "brackets"))
        stops.append(Stop(place=f"{rng.choice('PSB')}{len(stops) + 1}-{rng.randint(1, 4)}", storage=storage,
                          entries=tuple(entries), put_back=put_back))  # fmt: skip
    buy = (
        BuyLine(
            count=2,
            material="birch ply 3/4",
            length=inch(96),
            width=inch(48),
            price="$84.00",
            supplier="Harbor Panel",
        ),
        BuyLine(
            count=1,
            material="red oak 4/4",
            length=inch(120),
            width=inch(8),
            price="$61.00",
            supplier="Mill Lane",
        ),
    )
    return PullList(job="Hall bench", date="24 Nov 2026", unit=Unit.INCH, stops=tuple(stops), buy=buy,
                    cautions=("One piece here is over what one person should lift.",))  # fmt: skip


def random_papers(seed: int, pieces: int | None = None) -> JobPapers:
    """Return all papers of an invented job."""
    problem, plan, unit = random_plan(seed, pieces)
    cards = cards_of(problem, plan, unit)
    return JobPapers(pull_list=random_pull_list(seed, len(cards)), cards=cards, work=plan.work)


def card_from(stock: Stock, root: Node, parts: tuple[Part, ...], unit: Unit, kerf: int) -> CutCard:
    """Return the card of one piece cut as `root` says."""
    problem = Problem(stock=(stock,), parts=parts, unit=unit, kerf=kerf, worth=Worth())
    plan = finish(problem, [Pattern(0, root)], bound=Bound(0, 0, ""), status=Status.FEASIBLE)
    return cards_of(problem, plan, unit)[0]


def sheet_of_many(count: int) -> CutCard:
    """Return a 96 x 48 in sheet cut into `count` shelves in rows of up to eight."""
    kerf = inch(0.125)
    rows = -(-count // 8)
    length, width = inch(96) // 8 - kerf, inch(47) // rows - kerf
    children, left = [], count
    for _ in range(rows):
        here = min(8, left)
        left -= here
        shelves = [Node(length, width, part=0) for _ in range(here)]
        rest = inch(96) - here * (length + kerf)
        cells = (*shelves, Node(rest, width)) if rest > 0 else tuple(shelves)
        children.append(Node(inch(96), width, axis=Axis.CROSSCUT, children=cells))
    children.append(Node(inch(96), inch(48) - rows * (width + kerf)))
    root = Node(inch(96), inch(48), axis=Axis.RIP, children=tuple(children))
    stock = Stock(
        id=tag_number(7),
        kind=Kind.FULL,
        material="birch ply 3/4",
        length=inch(96),
        width=inch(48),
        grain=True,
    )
    return card_from(
        stock, root, (Part(id="shelf", length=length, width=width, count=count),), Unit.INCH, kerf
    )


def board_of_strips() -> CutCard:
    """Return a 16 ft board, 89 mm wide, ripped into four strips and crosscut."""
    kerf, length, width = mm(3), mm(4877), mm(89)
    strip, long = mm(20), mm(1200)
    cells = (*(Node(long, strip, part=0) for _ in range(4)), Node(length - 4 * (long + kerf), strip))
    one = Node(length, strip, axis=Axis.CROSSCUT, children=cells)
    rest = Node(length, width - 3 * (strip + kerf))
    root = Node(length, width, axis=Axis.RIP, children=(one, one, one, rest))
    stock = Stock(
        id=tag_number(8), kind=Kind.FULL, material="fir 2x4", length=length, width=width, grain=True
    )
    return card_from(stock, root, (Part(id="slat", length=long, width=strip, count=12),), Unit.MM, kerf)


def board_of_legs(count: int = 5) -> CutCard:
    """Return an 8 ft board crosscut into five legs, or fewer."""
    kerf, length, width, leg = inch(0.125), inch(96), inch(3.5), inch(15)
    legs = (Node(leg, width, part=0) for _ in range(count))
    children = (*legs, Node(length - count * (leg + kerf), width))
    root = Node(length, width, axis=Axis.CROSSCUT, children=children)
    stock = Stock(
        id=tag_number(9), kind=Kind.FULL, material="fir 2x4", length=length, width=width, grain=True
    )
    return card_from(stock, root, (Part(id="leg", length=leg, width=width, count=count),), Unit.INCH, kerf)


def normal_pull_list() -> PullList:
    """Return a walk of 15 pieces from 6 places, two of them flat stacks to dig in, and two things to buy."""
    walk = random_pull_list(11, 15)
    entries = [replace(entry, on_top=()) for stop in walk.stops for entry in stop.entries]
    stops = []
    for n, share in enumerate((3, 2, 3, 2, 3, 2)):
        here, entries = entries[:share], entries[share:]
        stacked = n in (1, 4)
        if stacked:
            on_top = tuple(
                Lying(tag=tag_number(500 + 10 * n + i), what="birch ply 3/4 FULL", lift=lift(32.66))
                for i in range(2)
            )
            here[0] = replace(here[0], on_top=on_top)
        back = f"Put back on top in this order: {on_top[1].tag}, {on_top[0].tag}." if stacked else ""
        storage = "flat stack" if stacked else "upright slot"
        stops.append(Stop(place=f"R{n + 1}-2", storage=storage, entries=tuple(here), put_back=back))
    return replace(walk, stops=tuple(stops))
