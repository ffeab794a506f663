"""A sheet covered without waste, or proved that it can not be: against CP-SAT, a general-purpose library."""

from __future__ import annotations

import json
from collections import Counter
from pathlib import Path
from random import Random

import numpy as np

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.hunting.alike import merge
from stockyard.planning.model import AS_WRITTEN, Model, shares
from stockyard.planning.placing.closing import EXHAUSTED, FOUND, Closer
from stockyard.planning.placing.exact import one_sheet
from stockyard.planning.placing.perfect import LIMIT, Gapless
from stockyard.planning.placing.spots import spots
from stockyard.planning.problem import MONEY, Grain, Kind, Method, Part, Problem, Stock

SETS = json.loads((Path(__file__).parents[2] / "data" / "fits_exactly.json").read_text())


def model_of(sizes: list[tuple[int, int]], side: int, grain: Grain) -> Model:
    stock = Stock(
        id="s", kind=Kind.FULL, material="any", length=side * MM, width=side * MM, count=None, cost=MONEY,
        grain=True,
    )  # fmt: skip
    parts = tuple(
        Part(id=f"p{n}", length=w * MM, width=h * MM, count=count, grain=grain)
        for n, ((w, h), count) in enumerate(Counter(sizes).items())
    )
    return merge(shares(Problem(stock=(stock,), parts=parts, method=Method.ROUTER))[0]).model


def whole_area(rng: Random, side: int) -> list[tuple[int, int]]:
    """Return extents by chance whose areas make up a square; that they cover it is not said."""
    while True:
        sizes: list[tuple[int, int]] = []
        while (left := side * side - sum(w * h for w, h in sizes)) > 0:
            w, h = rng.randint(1, side), rng.randint(1, side)
            if w * h <= left:
                sizes.append((w, h))
        if 4 <= len(sizes) <= 9:
            return sizes


def test_it_is_decided_as_by_a_general_solver() -> None:
    """Random sets whose areas make up the sheet, with the grain or turning: both answers are met often."""
    met = Counter[bool]()
    for seed in range(40):
        rng = Random(seed)
        model = model_of(whole_area(rng, 7), 7, Grain.ANY if seed % 2 else Grain.ALONG)
        closer = Closer(model, 0, seed, swapped=seed % 4 > 1)
        assert closer.is_gapless
        ended, layout = closer.attempt()
        fits, _ = one_sheet(model, 0, seconds=60, seed=0)
        assert ended == (FOUND if fits else EXHAUSTED), seed
        met[bool(fits)] += 1
        if layout is not None:
            covered = np.zeros((7, 7), int)
            for s in spots(model.problem, layout.pattern):
                x, y, w, h = (v // MM for v in (s.x, s.y, s.length, s.width))
                covered[x : x + w, y : y + h] += 1
            assert (covered == 1).all(), seed
            assert sum(n for _, n in layout.gives) == sum(p.demand for p in model.parts)
    assert min(met.values()) >= 5, met


def test_what_was_searched_in_vain_is_not_searched_again() -> None:
    """Tries of fifty outlines add up to the proof for which one is too short.

    E00N10 of Clautiaux, Jouglet, Carlier, Moukrim 2008 (C&OR 35): no waste, and it does not fit.
    """
    row = next(r for r in SETS if r["name"] == "E00N10")
    size = np.array([(i["w"], i["h"]) for i in row["items"]], np.int64)
    demand = np.array([i["demand"] for i in row["items"]], np.int64)
    search = Gapless(size, np.full(len(size), AS_WRITTEN), demand, 20, 20, 3)
    ends = [search.attempt(50, 0.0)[0] for _ in range(200)]
    assert ends[0] == LIMIT
    assert ends[-1] == EXHAUSTED
