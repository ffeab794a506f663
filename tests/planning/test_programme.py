"""The linear programme of choosing layouts, against a worked example and the duality of every optimum."""

from __future__ import annotations

from itertools import product
from math import inf
from typing import Any

import pytest

from stockyard.planning.model import Model
from stockyard.planning.problem import MONEY
from stockyard.planning.programme import Programme
from tests.planning.jobs import bars, rack


def with_all_fills(model: Model) -> Programme:
    """Return the programme of a model of bars with every way to fill one."""
    programme = Programme(model, absent=100.0)
    bar = model.stock[0]
    most = [range(bar.length // p.length + 1) for p in model.parts]
    for counts in product(*most):
        if 0 < sum(n * p.length for n, p in zip(counts, model.parts, strict=True)) <= bar.length:
            programme.add(0, tuple((k, n) for k, n in enumerate(counts) if n), programme.moneys[0])
    return programme


def test_a_worked_example() -> None:
    """Rolls of 100 cut to 45, 36, 31 and 14: 452.25 of them (Chvátal 1983, chapter 13; from memory)."""
    programme = with_all_fills(bars(100, [[45, 97], [36, 610], [31, 395], [14, 211]]))
    assert programme.solve() == pytest.approx(452.25)
    assert sum(programme.taken(range(len(programme)))) == pytest.approx(452.25)
    assert programme.left_out() == pytest.approx(0)


def test_a_layout_that_may_not_be_used_is_not_taken() -> None:
    programme = with_all_fills(bars(100, [[45, 97], [36, 610], [31, 395], [14, 211]]))
    least = programme.solve()
    used = [n for n, x in enumerate(programme.taken(range(len(programme)))) if x > 0]
    programme.allow(used[0], usable=False)
    assert programme.solve() >= least
    assert programme.taken(used[:1]) == [0.0]


@pytest.mark.parametrize("most", [None, 0, 1])
def test_worth_rent_and_money_add_up_to_the_cost(most: int | None) -> None:
    """Strong duality, with pieces that are few and money that is short: parts are left out then."""
    model = rack(3, 10)
    programme = Programme(model, absent=5.0)
    for k, p in enumerate(model.parts):
        for j in (j for j, lies in enumerate(p.lies) if lies):
            programme.add(j, ((k, 1),), 1.0)
    programme.limit_money(None if most is None else most * 58 * MONEY)
    cost, duals = programme.solve(), programme.duals()
    worth = sum(y * p.demand for y, p in zip(duals.parts, model.parts, strict=True))
    rents = sum(r * s.count for r, s in zip(duals.rents, model.stock, strict=True) if s.count >= 0)
    spent = 0.0 if most is None else duals.money * most * 58 * MONEY
    assert cost == pytest.approx(worth - rents - spent)
    assert min(programme.reduced()) >= -1e-6


def test_a_solver_that_fails_from_its_last_optimum_begins_from_scratch() -> None:
    programme = with_all_fills(bars(100, [[45, 97], [36, 610], [31, 395], [14, 211]]))
    solver: Any = programme._lp
    solve = solver.Solve
    solver.Solve = lambda *how: solve(*how) if how else solver.ABNORMAL
    assert programme.solve() == pytest.approx(452.25)  # the worked example above
    assert sum(programme.taken(range(len(programme)))) == pytest.approx(452.25)


def test_where_the_solver_fails_nothing_is_taken_prices_stay_and_nothing_is_printed(
    capfd: pytest.CaptureFixture[str],
) -> None:
    """The library writes a line on the terminal for each figure that is read where there is no optimum."""
    programme = with_all_fills(bars(100, [[45, 97], [36, 610], [31, 395], [14, 211]]))
    programme.solve()
    prices = programme.duals()
    programme.allow(0, usable=False)  # from here on the library has no optimum to read from
    solver: Any = programme._lp
    solver.Solve = lambda *_: solver.ABNORMAL
    assert programme.solve() == inf
    assert programme.taken(range(len(programme))) == [0.0] * len(programme)
    assert set(programme.reduced()) == {programme.left_out()} == {0.0}
    assert programme.duals() == prices
    assert capfd.readouterr().err == ""
