"""Cost reports add up to the ledger, whatever the ledger holds."""

from __future__ import annotations

from itertools import chain

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard.advice import costs
from stockyard.advice.costs import Amount, Flow, Sum

days = st.dates().map(str).filter(lambda d: "2030" <= d < "2033")


@given(st.integers(0, 10**9), st.lists(st.integers(0, 10**12), min_size=1, max_size=9).filter(any))
def test_shares_add_up_and_follow_the_area(cost: int, areas: list[int]) -> None:
    shares = costs.split_cost(cost, areas)
    assert sum(shares) == cost
    for share, area in zip(shares, areas, strict=True):
        assert abs(share - cost * area / sum(areas)) <= 1 + 1e-6


def test_no_area_no_share() -> None:
    with pytest.raises(ValueError, match="none"):
        costs.split_cost(5, [0])


@st.composite
def cutting(draw: st.DrawFn) -> list[Amount]:
    """One piece cut for a job: the piece in, parts, offcuts and scrap out, its cost split by area."""
    areas = draw(st.lists(st.integers(1, 10**6), min_size=3, max_size=3))
    cost, day, job = (
        draw(st.integers(0, 10**7)),
        f"2031-{draw(st.integers(1, 12)):02}-03",
        draw(st.sampled_from([1, 2])),
    )
    flow = draw(st.sampled_from([Flow.DRAWN, Flow.REUSED]))
    shares = costs.split_cost(cost, areas)
    out = zip((Flow.PARTS, Flow.RETURNED, Flow.SCRAPPED), areas, shares, strict=True)
    return [
        Amount(flow=flow, day=day, area=sum(areas), money=cost, job=job),
        *(
            Amount(flow=f, day=day, area=a, money=m, job=job, from_offcut=flow is Flow.REUSED, new_price=a)
            for f, a, m in out
        ),
    ]


@st.composite
def outside_jobs(draw: st.DrawFn) -> list[Amount]:
    flow = draw(st.sampled_from([Flow.BOUGHT, Flow.GONE, Flow.FOUND]))
    day = f"2031-{draw(st.integers(1, 12)):02}-09"
    return [Amount(flow=flow, day=day, area=draw(st.integers(1, 10**6)), money=draw(st.integers(0, 10**7)))]


ledgers = st.lists(st.one_of(cutting(), outside_jobs()), max_size=25).map(lambda g: list(chain(*g)))


@given(ledgers)
def test_a_job_balances(ledger: list[Amount]) -> None:
    for job in (1, 2):
        c = costs.job_cost(job, "kitchen", ledger)
        assert c.drawn + c.reused == c.parts + c.returned + c.scrapped
        assert c.cost == c.parts.money + c.scrapped.money
        assert 0 <= c.yield_share <= 1
        offcut_parts = sum(a.area for a in ledger if a.job == job and a.from_offcut and a.flow is Flow.PARTS)
        assert c.saved == offcut_parts


@given(ledgers)
def test_months_add_up_to_the_ledger(ledger: list[Amount]) -> None:
    rows = costs.months(ledger)
    assert sum((m.bought for m in rows), Sum()) == costs.total(ledger, Flow.BOUGHT)
    assert sum((m.used for m in rows), Sum()) == costs.total(ledger, Flow.PARTS)
    assert sum((m.scrapped for m in rows), Sum()) == costs.total(ledger, Flow.SCRAPPED)
    before = Sum()
    for m in rows:
        assert m.racks == before + m.bought - m.used - m.scrapped - m.gone
        before = m.racks
    assert before == costs.on_racks(ledger)
