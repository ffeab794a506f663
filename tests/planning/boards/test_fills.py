"""Fills of boards: all of them, none too many, and the last word on a cost."""

from __future__ import annotations

from itertools import product
from random import Random
from time import monotonic

import pytest

from stockyard.planning.boards.bars import BarPricer, line_of
from stockyard.planning.boards.fills import FEW, Fills, Verdict
from stockyard.planning.bounds.columns import Generation
from stockyard.planning.choosing.choose import figures, trimmed
from stockyard.planning.model import Model
from stockyard.planning.problem import MONEY, Kind, Part, Problem, Stock
from tests.planning.jobs import bars, one, published

CASES = {c["name"]: c for c in published("bin_packing.json")}


def prepared(model: Model) -> tuple[Generation, BarPricer]:
    line = line_of(model)
    assert line is not None
    pricer = BarPricer(model, line)
    return Generation(model, pricer), pricer


def settled(model: Model, money: int, seconds: float) -> Verdict:
    listing = Fills(model, *prepared(model), monotonic() + 20).listing(money)
    return listing.settle(seconds=seconds, repeatable=False)


@pytest.mark.parametrize("seed", range(12))
def test_every_fill_is_there(seed: int) -> None:
    """Against trying all counts: full boards whose parts are worth enough, and no others."""
    rng = Random(seed)
    model = bars(60, [[rng.randint(11, 40), rng.randint(1, 3)] for _ in range(5)])
    generation, pricer = prepared(model)
    fills = Fills(model, generation, pricer, monotonic() + 20)
    allowance = int(0.3e8)
    columns, whole = fills.within(allowance)
    assert whole
    sizes = [p.length for p in model.parts]
    wanted = set()
    for counts in product(*(range(p.demand + 1) for p in model.parts)):
        room = 60 - sum(a * n for a, n in zip(sizes, counts, strict=True))
        more = any(n < p.demand and p.length <= room for n, p in zip(counts, model.parts, strict=True))
        worth = sum(v * n for v, n in zip(fills._values, counts, strict=True))
        if room >= 0 and not more and worth >= 1e8 - allowance:
            wanted.add(tuple((k, n) for k, n in enumerate(counts) if n))
    assert {c.gives for c in columns} == wanted


@pytest.mark.parametrize("name", ["Hard28_BPP119", "Hard28_BPP716"])
def test_the_rounded_linear_bound_is_refuted(name: str) -> None:
    """Two of the hard28 set (Schoenfield 2002) that need one board more than the bound rounded up."""
    case = CASES[name]
    model = bars(case["length"], case["items"])
    verdict = settled(model, (case["bins"] - 1) * MONEY, 60)
    assert verdict.refuted and not verdict.candidates


def test_a_plan_is_found_where_there_is_one() -> None:
    """Falkenauer's first triplets: twenty boards, each filled to the end."""
    case = CASES["Falkenauer_t60_00"]
    model = bars(case["length"], case["items"])
    verdict = settled(model, case["bins"] * MONEY, 60)
    found = figures(model, trimmed(model, verdict.candidates))
    assert not any(found.missing) and found.money == case["bins"] * MONEY


def test_too_many_fills_refute_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """All of them are known, but they are more than are tried: that is no proof."""
    case = CASES["Falkenauer_t60_00"]
    model = bars(case["length"], case["items"])
    fills = Fills(model, *prepared(model), monotonic() + 20)
    money = case["bins"] * MONEY
    columns, whole = fills.within(fills.allowance(money))
    assert whole and len(columns) > 1
    some, whole = fills.within(fills.allowance(money), most=len(columns) - 1)
    assert not whole and set(some) < set(columns)
    monkeypatch.setattr("stockyard.planning.boards.fills.MOST_FILLS", len(columns) - 1)
    assert not settled(model, money, 20).refuted


def test_many_fills_are_tried_by_chance_too() -> None:
    """Triplets made by Falkenauer's rule (1996): all fills are known, but a cover of so many takes long."""
    rng, lengths = Random(501), []
    for _ in range(167):
        first = rng.randint(380, 490)
        second = rng.randint(250, 750 - first)
        lengths += [first, second, 1000 - first - second]
    model = bars(1000, [[a, lengths.count(a)] for a in sorted(set(lengths))])
    listing = Fills(model, *prepared(model), monotonic() + 20).listing(167 * MONEY)
    assert listing.whole and len(listing.columns) > FEW
    search = listing.search(seed=0)
    assert search is not None
    found = listing.layouts(search.run(20_000))
    assert len(found) == 167 and not any(figures(model, found).missing)


def test_a_search_by_chance_minds_where_parts_may_lie() -> None:
    """Parts 100 wide lie on wide boards alone, those 60 wide on both; every board is filled to the end."""
    rng = Random(5)
    wide, narrow = (
        Stock(id=name, kind=Kind.FULL, material="oak", length=1000, width=width, count=None,
              cost=cost * MONEY, grain=True)
        for name, width, cost in (("wide", 100, 10), ("narrow", 60, 6))
    )  # fmt: skip
    parts = []
    for n in range(12):
        first, second, width = rng.randint(200, 400), rng.randint(200, 400), 100 if n % 2 else 60
        lengths = (first, second, 1000 - first - second)
        parts += [Part(id=f"{n}.{k}", length=a, width=width) for k, a in enumerate(lengths)]
    model = one(Problem(stock=(wide, narrow), parts=tuple(parts)))
    fills = Fills(model, *prepared(model), monotonic() + 20)
    search, filled = fills.by_chance(fills.allowance(96 * MONEY), seed=1), []
    for _ in range(200):
        filled = filled or search.run(50)
    found = fills.listing(96 * MONEY).layouts(filled)
    assert sum(c.money for c in found) == 96 * MONEY and not any(figures(model, found).missing)
    assert all(model.parts[k].lies[c.stock] for c in found for k, _ in c.gives)
