"""A first plan made of small ones: every part that finds room, within the stock, however scarce that is."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from stockyard.planning.choosing.answer import judge
from stockyard.planning.hunting.hasty import hasty
from stockyard.planning.model import Model, shares
from tests.bench.large_jobs import large
from tests.planning.jobs import assert_true, rack


@pytest.mark.parametrize(("parts", "kinds", "offcuts"), [(400, 40, 0), (300, 300, 0), (200, 20, 60)])
def test_all_parts_are_placed_and_like_plans_taken_again(parts: int, kinds: int, offcuts: int) -> None:
    (model,) = shares(large(parts, kinds, offcuts))
    layouts = hasty(model, 0, few=40)
    assert_true(model, tuple(layouts))
    assert judge(model, layouts).complete
    repeated = max(Counter(id(c) for c in layouts).values())
    assert (repeated > 1) == (parts > kinds and not offcuts)


def test_what_finds_no_room_does_not_keep_others_out() -> None:
    model = rack(2, 12, parts=20)
    stock = tuple(s for s in model.stock if s.count != -1)
    kept = [j for j, s in enumerate(model.stock) if s.count != -1]
    parts = [replace(p, lies=tuple(p.lies[j] for j in kept)) for p in model.parts]
    short = Model(model.problem, stock, tuple(p for p in parts if any(p.lies)))
    layouts = hasty(short, 0, few=4)
    answer = judge(short, layouts)
    assert layouts and not answer.complete
    assert_true(short, tuple(layouts))
    used = Counter(c.stock for c in layouts)
    free = [j for j, s in enumerate(short.stock) if used[j] < s.count]
    placed = Counter[int]()
    for c in layouts:
        placed.update(dict(c.gives))
    left = [p for k, p in enumerate(short.parts) if placed[k] < p.demand]
    assert left and not any(p.lies[j] for p in left for j in free), "a whole piece would give one that is out"
