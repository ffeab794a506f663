"""The linear bound where parts lie anywhere: above what one weight alone proves, never above a plan."""

from __future__ import annotations

from random import Random

import pytest

from stockyard.planning.bounds import dff
from stockyard.planning.bounds.bound import bound_of
from stockyard.planning.bounds.freely import FreePricer, _exact, _fractional
from stockyard.planning.bounds.piececuts import least
from stockyard.planning.hunting.alike import merge
from stockyard.planning.model import Model, shares
from stockyard.planning.problem import Kind, Method, Part, Problem, Stock


def model_of(parts: list[tuple[int, int, int]]) -> Model:
    stock = Stock(id="s", kind=Kind.FULL, material="x", length=10, width=10, count=None, cost=1, grain=True)
    wanted = tuple(Part(id=f"p{n}", length=a, width=b, count=c) for n, (a, b, c) in enumerate(parts))
    return merge(shares(Problem(stock=(stock,), parts=wanted, method=Method.ROUTER))[0]).model


def test_what_two_weights_prove_together() -> None:
    """Sheets of 10 x 10: two of 7 x 7, three of 8 x 4, three of 8 x 3, one of 4 x 4.

    A 7 x 7 leaves room for one 8 x 3 at most. Of the rest any three are too high for one sheet, since neither
    8 nor 4 goes beside 8: the 4 x 4, three of 8 x 4 and one of 8 x 3 take three sheets more. One weight alone
    proves four.
    """
    model = model_of([(4, 4, 1), (8, 4, 3), (8, 3, 3), (7, 7, 2)])
    assert least(model, dff.cuts(model), [1]) == 4
    assert bound_of(model, seconds=60).money == 5


@pytest.mark.parametrize("seed", range(30))
def test_a_fractional_filling_is_worth_no_less_than_a_whole_one(seed: int) -> None:
    rng = Random(seed)
    n = rng.randint(2, 6)
    values, most = [rng.randint(1, 99) for _ in range(n)], [rng.randint(0, 4) for _ in range(n)]
    weights = [tuple(rng.choice([0, rng.randint(0, 30)]) for _ in range(n)) for _ in range(3)]
    rows = [(weigh, rng.choice([0, rng.randint(5, 60)])) for weigh in weights]
    bound, filling = _fractional(values, most, rows)
    whole, found = _exact(values, most, rows, 10**9, filling)
    assert sum(v * k for v, k in zip(values, found, strict=True)) == whole <= bound
    assert all(k <= m for k, m in zip(found, most, strict=True))
    assert all(sum(w * k for w, k in zip(weigh, found, strict=True)) <= holds for weigh, holds in rows)
    for i in range(n):  # what a whole filling lacks does not fit
        more = [k + (j == i) for j, k in enumerate(found)]
        assert more[i] > most[i] or any(
            sum(w * k for w, k in zip(weigh, more, strict=True)) > holds for weigh, holds in rows
        )


def test_fillings_are_never_offered_as_layouts() -> None:
    model = model_of([(6, 6, 3), (4, 4, 5)])
    assert bound_of(model, seconds=60).candidates == ()
    pricer = FreePricer(model)
    priced = pricer.price([100_000, 40_000], [3, 5])
    assert all(not pricer.exact(c) for c in pricer.columns(priced, 0))
