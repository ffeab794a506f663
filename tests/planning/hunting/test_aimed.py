"""Searches for a plan that costs less: from nothing to all parts, and what stays out comes in at last."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest

from stockyard.planning.hunting.aimed import Aimed
from stockyard.planning.hunting.routed import PLACING
from stockyard.planning.placing.kernel import DEAR_FIRST
from stockyard.planning.placing.placer import Placer
from stockyard.planning.placing.spots import candidate
from stockyard.planning.problem import MONEY
from stockyard.planning.tree import Spot
from tests.planning.hunting.test_priced import asked


@pytest.mark.parametrize("hands", [1, 2])
def test_ten_sheets_become_two_about_their_holes(hands: int) -> None:
    """Four parts of 600 x 400 and one of 200 x 200 amid them are a whole sheet of 1000 x 1000."""
    model = asked((600, 400, 8), (200, 200, 2))
    single = [
        candidate(model, 0, [Spot(p.length, p.width, p.row, x=0, y=0)])
        for p in model.parts
        for _ in range(p.demand)
    ]
    aimed = Aimed([Placer(model, n, 3, 20) for n in range(2)], PLACING)
    found = []
    with ThreadPoolExecutor(2) as team:
        for _ in range(40):
            for placer in aimed.round(team, hands, single, budget=100 * MONEY, filled=0.9, steps=1000):
                if not placer.left_out:
                    found.append(placer.answer())
            if found:
                break
    assert found
    assert [c.gives for c in found[0]] == [((0, 4), (1, 1))] * 2


def test_what_stays_out_counts_more_until_it_comes_in() -> None:
    """Only one of the two fits the sheet: the larger, until the other has been left out often enough."""
    model = asked((900, 900, 1), (300, 300, 1))
    placer = Placer(model, 1, 1, 2)
    placer.set_rules(budget=50 * MONEY, net=False, short=False, history=1, order=DEAR_FIRST)
    placer.load(())
    placer.run(50)
    assert [c.gives for c in placer.answer()] == [((0, 1),)]
    for _ in range(5):
        placer.favour(2.0)
        placer.run(50)
        if placer.answer()[0].gives == ((1, 1),):
            break
    assert [c.gives for c in placer.answer()] == [((1, 1),)]
