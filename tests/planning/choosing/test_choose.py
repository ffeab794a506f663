"""Each level of the aim decides when those above tie; surplus parts are taken out again."""

from __future__ import annotations

from dataclasses import replace

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.choosing.choose import choose, figures, trimmed
from stockyard.planning.model import Candidate, Model
from stockyard.planning.problem import MONEY, Kind, Part, Problem, Stock
from stockyard.planning.tables.pricing import weighed
from stockyard.planning.tree import Axis, Node
from tests.planning.jobs import one


def row(ident: str, count: int | None, *, cost: int = 0, width: int = 500, dig: int = 0) -> Stock:
    """Return pieces 1000 mm long; free ones are offcuts."""
    return Stock(
        id=ident, kind=Kind.FULL if cost else Kind.OFFCUT, material="m", length=1000 * MM, width=width * MM,
        count=count, cost=cost * MONEY, grain=True, dig=dig,
    )  # fmt: skip


def model_of(*stock: Stock, count: int = 2, priority: int = 0) -> Model:
    """Return a job of `count` parts 400 x 400 mm and one of 300 x 300 mm."""
    parts = (
        Part(id="big", length=400 * MM, width=400 * MM, count=count),
        Part(id="small", length=300 * MM, width=300 * MM, priority=priority),
    )
    return one(Problem(stock=stock, parts=parts))


def layout(model: Model, stock: int, *parts: int) -> Candidate:
    """Return parts side by side along the length of a piece."""
    piece = model.stock[stock]
    nodes = []
    for k in parts:
        p = model.parts[k]
        leaf = Node(p.length, p.width, part=p.row)
        rest = Node(p.length, piece.width - p.width)
        nodes.append(Node(p.length, piece.width, axis=Axis.RIP, children=(leaf, rest)))
    used = sum(n.length for n in nodes)
    nodes.append(Node(piece.length - used, piece.width))
    return weighed(model, stock, Node(piece.length, piece.width, axis=Axis.CROSSCUT, children=tuple(nodes)))


def chosen(model: Model, pool: list[Candidate]) -> tuple[Candidate, ...]:
    """Return the choice; it must beat having nothing."""
    found = choose(model, pool, [], seconds=20, seed=1, work=5)
    assert found is not None
    return found


def test_money_before_net() -> None:
    """Two wide free pieces rather than one full piece of less area."""
    model = model_of(row("full", None, cost=10), row("o1", 1, width=900), row("o2", 1, width=900))
    pool = [layout(model, 0, 0, 0), layout(model, 0, 1), layout(model, 1, 0, 0), layout(model, 2, 1)]
    assert sorted(c.stock for c in chosen(model, pool)) == [1, 2]


def test_the_rack_before_the_shop() -> None:
    """For the same money, what is on the rack before what must be bought."""
    model = model_of(row("buy", None, cost=10), row("rack", 1, cost=10))
    pool = [layout(model, j, 0, 0) for j in (0, 1)] + [layout(model, j, 1) for j in (0, 1)]
    found = chosen(model, pool)
    assert figures(model, found)[1:3] == (20 * MONEY, 10 * MONEY)


def test_net_before_handling() -> None:
    """A deeper but smaller piece wins; among equal ones the one that is easier to reach."""
    stock = (row("o1", 1, width=700), row("o2", 1, dig=5), row("o3", 1, dig=2), row("o4", 1, width=450))
    model = model_of(*stock)
    pool = [layout(model, j, 0, 0) for j in range(4)] + [layout(model, j, 1) for j in range(4)]
    assert sorted(c.stock for c in chosen(model, pool)) == [2, 3]


def test_surplus_becomes_leftover() -> None:
    """A part covered twice is cut once, and the layout is the better for it."""
    model = model_of(row("o1", 1), row("o2", 1), count=3)
    both = [layout(model, 0, 0, 0), layout(model, 1, 0, 0)]
    cut = trimmed(model, both)
    assert sum(n for c in cut for _, n in c.gives) == 3
    assert figures(model, cut).net < figures(model, both).net
    for c in cut:
        assert {model.parts[k].row: n for k, n in c.gives} == c.pattern.parts()


def test_priority_decides_what_stays_out() -> None:
    """One piece: two big parts, or the one of higher priority."""
    model = model_of(row("o1", 1), priority=5)
    pool = [layout(model, 0, 0, 0), layout(model, 0, 0, 1)]
    found = chosen(model, pool)
    assert figures(model, found).missing == (0, 1)


def test_none_when_nothing_is_better() -> None:
    """The incumbent stays when the pool holds nothing better; counts are kept."""
    model = model_of(row("o1", 2))
    best = [layout(model, 0, 0, 0), layout(model, 0, 1)]
    assert choose(model, best, best, seconds=20, seed=1, work=2) is None
    scarce = replace(model, stock=(replace(model.stock[0], count=1),))
    assert choose(scarce, best, [], seconds=20, seed=1, work=2) is not None


def test_same_answer_twice() -> None:
    """With the work limited the clock decides nothing."""
    model = model_of(row("o1", 1), row("o2", 1, dig=1), row("o3", 1, width=800))
    pool = [layout(model, j, *p) for j in range(3) for p in ((0, 0), (1,), (0, 1), (0,))]
    assert chosen(model, pool) == chosen(model, pool)
