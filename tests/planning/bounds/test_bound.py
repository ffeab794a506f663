"""What was proved of plans is kept only as far as it holds for the money that they may spend."""

from __future__ import annotations

import pytest

from stockyard.planning.bounds.bound import ModelBound


def bound(money: int, area: int, at_money: int, net: int, *, possible: bool = True) -> ModelBound:
    return ModelBound(
        money=money, bought=0, area=area, area_at_money=at_money, net=net, possible=possible, exact=False
    )


@pytest.mark.parametrize(
    ("later", "before", "kept"),
    [
        # Two cheap sheets were thought to do; then it is proved that a dear small one must be bought.
        (bound(690, 20, 54, 40), bound(16, 20, 60, 45), (20, 54, 40)),
        (bound(16, 20, 54, 40), bound(16, 30, 60, 45), (30, 60, 45)),
        # Of plans that may spend more it held already.
        (bound(16, 20, 54, 40), bound(17, 20, 60, 45), (20, 60, 45)),
        (bound(690, 20, 25, 40), bound(16, 30, 60, 45), (30, 30, 40)),
        (bound(690, 20, 25, 40), bound(0, 99, 99, 99, possible=False), (20, 25, 40)),
    ],
)
def test_what_held_of_less_money_does_not_hold_of_more(
    later: ModelBound, before: ModelBound, kept: tuple[int, int, int]
) -> None:
    found = later.with_what_held(before)
    assert (found.area, found.area_at_money, found.net) == kept and found.money == later.money
