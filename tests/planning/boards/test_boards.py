"""One-dimensional models against published bin packing optima, and several lengths with counts."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from stockyard.effort import FREE
from stockyard.planning.boards.bars import BarPricer, line_of
from stockyard.planning.boards.boards import BoardsAnswer, boards_of
from stockyard.planning.bounds.bound import Prover
from stockyard.planning.bounds.columns import Generation
from stockyard.planning.choosing.choose import figures
from stockyard.planning.model import Model
from stockyard.planning.problem import MONEY, Kind, Part, Problem, Stock
from tests.planning.jobs import bars, one, published, rack

CASES = {c["name"]: c for c in published("bin_packing.json")}
QUICK = ("Falkenauer_t60_00", "N1C1W1_A", "N2C1W2_A", "N3C1W4_A", "N1W4B2R0")
# Fewest bins are one more than the linear bound rounded up.
TRAPS = ("Hard28_BPP119", "Hard28_BPP716")


def run(model: Model, seconds: float, dives: int | None = None) -> BoardsAnswer:
    """Return the answer for a model that is one-dimensional."""
    boards = boards_of(model, seed=3, repeatable=dives is not None)
    assert boards is not None
    return boards.run(seconds, dives)


def solved(name: str, seconds: float) -> tuple[int, int, bool]:
    """Return pieces used, pieces at least needed, and whether that is proved."""
    case = CASES[name]
    model = bars(case["length"], case["items"])
    answer = run(model, seconds)
    assert not any(figures(model, answer.candidates).missing)
    for c in answer.candidates:
        assert sum(n * model.parts[k].length for k, n in c.gives) <= case["length"]
    return len(answer.candidates), answer.bound.money // MONEY, answer.proven


@pytest.mark.parametrize("name", QUICK)
def test_published_optima(name: str) -> None:
    """Falkenauer 1996; Scholl, Klein and Jürgens 1997."""
    assert solved(name, 30) == (CASES[name]["bins"], CASES[name]["bins"], True)


@pytest.mark.slow
@pytest.mark.parametrize("name", [n for n in CASES if n not in QUICK and n not in TRAPS])
def test_more_published_optima(name: str) -> None:
    """The longer ones, hard28 (Schoenfield 2002) among them."""
    assert solved(name, 60) == (CASES[name]["bins"], CASES[name]["bins"], True)


@pytest.mark.slow
@pytest.mark.parametrize("name", TRAPS)
def test_the_linear_bound_is_not_trusted(name: str) -> None:
    """These need one more than it, and that is proved by trying all fills."""
    assert solved(name, 60) == (CASES[name]["bins"], CASES[name]["bins"], True)


def board(ident: str, length: int, count: int | None, cost: int, kind: Kind = Kind.FULL) -> Stock:
    """Return a row of boards 100 wide."""
    return Stock(
        id=ident, kind=kind, material="oak", length=length, width=100, count=count, cost=cost * MONEY,
        grain=True,
    )  # fmt: skip


def test_offcuts_and_lengths() -> None:
    """Worked by hand, kerf 3: 700 + 3 + 497 fill the offcut exactly, 1600 needs the long board."""
    offcut = board("rack", 1200, 1, 0, Kind.OFFCUT)
    stock = (offcut, board("ten", 1500, None, 10), board("twelve", 1800, None, 12))
    parts = tuple(Part(id=str(n), length=n, width=100) for n in (700, 497, 1600))
    answer = run(one(Problem(stock=stock, parts=parts, kerf=3)), 20)
    assert answer.proven
    assert answer.bound.money == 12 * MONEY
    assert sorted(c.stock for c in answer.candidates) == [0, 2]


def test_one_tick_too_long_is_seen() -> None:
    """Kerf counts between the parts, not behind the last."""
    parts = (Part(id="a", length=500, width=100, count=2),)
    exact = one(Problem(stock=(board("b", 1003, None, 5),), parts=parts, kerf=3))
    short = replace(exact, stock=(replace(exact.stock[0], length=exact.stock[0].length - 1),))
    pieces = []
    for model in (exact, short):
        answer = run(model, 20)
        assert answer.proven
        pieces.append(len(answer.candidates))
    assert pieces == [1, 2]


def test_only_one_dimensional_models() -> None:
    """Sheets are not; nor are boards from which two parts come side by side."""
    assert line_of(rack(1, 5)) is None
    assert boards_of(rack(1, 5), seed=0) is None
    wide = Problem(stock=(board("b", 1000, None, 5),), parts=(Part(id="a", length=300, width=50, count=4),))
    assert line_of(one(wide)) is None


def test_same_answer_twice() -> None:
    """With a limit on the work the clock decides nothing."""
    case = CASES["N1W1B1R0"]
    model = bars(case["length"], case["items"])
    first, second = (run(model, 120, dives=1) for _ in range(2))
    assert first == second


def test_what_is_proved_of_more_money_lets_dearer_plans_in() -> None:
    """Three parts of 600: three pieces of 1000 for 30, or less wood from one of 1850 for 35."""
    stock = (board("a", 1000, None, 10), board("b", 1850, 1, 35))
    parts = (Part(id="p", length=600, width=100, count=3),)
    model = one(Problem(stock=stock, parts=parts, effort=FREE))
    line = line_of(model)
    assert line is not None
    prover = Prover(model, Generation(model, BarPricer(model, line)), inf)
    bound = prover.bound()
    assert (bound.money, bound.area_at_money) == (30 * MONEY, 3000 * 100)
    raised = prover.raised(bound, 40 * MONEY)
    assert raised.money == 40 * MONEY
    assert raised.area_at_money <= 1850 * 100


def test_boards_that_are_too_few_are_tried_again_and_again_without_harm() -> None:
    parts = (Part(id="p", length=600, width=100, count=2),)
    model = one(Problem(stock=(board("a", 1000, 1, 10),), parts=parts))
    answer = run(model, 60, dives=1100)  # work that doubled without an end would pass any number
    assert figures(model, answer.candidates).missing == (1,)
