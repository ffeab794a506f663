"""Plans grown part by part: a published optimum, whole and valid plans, and the seed alone decides."""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ThreadPoolExecutor

import pytest

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.compiled import COMPILED
from stockyard.planning.hunting.growth import Growing, Growth
from stockyard.planning.model import Candidate, Model, shares
from stockyard.planning.plan import Bound, Status
from stockyard.planning.problem import MONEY, Grain, Kind, Part, Problem, Stock
from stockyard.planning.sawing.finish import finish
from stockyard.planning.verify import faults
from tests.planning.jobs import published

pytestmark = pytest.mark.skipif(not COMPILED, reason="would take minutes as plain Python")


FILLED = 0.5


def problem(
    size: tuple[int, int], parts: list[tuple[int, int, int]], kerf: int = 0, grain: Grain = Grain.ANY
) -> Problem:
    """Return a job for sheets of one size (mm)."""
    sheet = Stock(
        id="sheet", kind=Kind.FULL, material="panel", length=size[0] * MM, width=size[1] * MM,
        count=None, cost=MONEY, grain=grain is not Grain.ANY,
    )  # fmt: skip
    wanted = tuple(
        Part(id=f"p{n}", length=x * MM, width=y * MM, count=count, grain=grain)
        for n, (x, y, count) in enumerate(parts)
    )
    return Problem(stock=(sheet,), parts=wanted, kerf=kerf * MM)


def grown(
    asked: Problem, pieces: int, rounds: int, manner: Growing
) -> tuple[list[Candidate], list[Candidate]]:
    """Return the plan on so many pieces that the rounds come to, or none, and the layouts met before."""
    growth, met = Growth(shares(asked)[0], 1, manner), list[Candidate]()
    assert growth.is_possible
    with ThreadPoolExecutor(2) as team:
        for _ in range(rounds):
            plan, others = growth.round(team, 2, (pieces + 1) * MONEY, FILLED, lambda: False)
            met += others
            if plan:
                return plan, met
    return [], met


def check(asked: Problem, layouts: list[Candidate]) -> None:
    """Let the verifier look at layouts, as a plan for what they give."""
    model = shares(asked)[0]
    given: Counter[int] = Counter()
    for c in layouts:
        given.update({model.parts[k].row: n for k, n in c.gives})
    parts = tuple(
        Part(id=p.id, length=p.length, width=p.width, count=given[n], grain=p.grain)
        for n, p in enumerate(asked.parts)
    )
    job = Problem(stock=asked.stock, parts=parts, kerf=asked.kerf)
    plan = finish(job, [c.pattern for c in layouts], bound=Bound(0, 0, ""), status=Status.FEASIBLE)
    assert faults(job, plan) == ()


def gives(model: Model, layouts: list[Candidate]) -> list[int]:
    """Return how many of each part layouts give."""
    total: Counter[int] = Counter()
    for c in layouts:
        total.update(dict(c.gives))
    return [total[k] for k in range(len(model.parts))]


def test_a_published_instance_is_packed_on_as_few_sheets_as_its_area_asks_for() -> None:
    for instance in published("sheet_packing.json"):
        asked = problem(tuple(instance["stock"]), instance["items"])
        plan, _ = grown(asked, instance["sheets"], 3, Growing(first=1000))
        assert len(plan) == instance["sheets"]
        assert gives(shares(asked)[0], plan) == [p.count for p in asked.parts]
        check(asked, plan)


# Grain along, a saw kerf, and sheets longer than wide: first cuts may run either way.
SHELVES = [(800, 300, 3), (560, 297, 4), (396, 196, 6), (297, 120, 5), (150, 90, 4), (700, 80, 3)]


@pytest.mark.parametrize("grain", [Grain.ALONG, Grain.ANY])
def test_plans_with_a_kerf_are_whole_and_can_be_cut(grain: Grain) -> None:
    asked = problem((1200, 800), SHELVES, kerf=4, grain=grain)
    plan, _ = grown(asked, 3, 8, Growing(first=100))
    assert 0 < len(plan) <= 3
    assert gives(shares(asked)[0], plan) == [p.count for p in asked.parts]
    check(asked, plan)


LARGE = problem((1200, 800), [(1000, 500, 3), (150, 90, 9), (396, 196, 2)], kerf=4, grain=Grain.ALONG)


def test_pieces_of_unfinished_plans_can_be_cut_too() -> None:
    plan, met = grown(LARGE, 2, 3, Growing(first=30))
    assert not plan, "two of the large parts do not fit one sheet"
    assert met
    for c in met:
        check(LARGE, [c])
        areas = (n * p.length * p.width for k, n in c.gives for p in [LARGE.parts[k]])
        assert sum(areas) >= 0.95 * FILLED * 1200 * 800 * MM * MM, "a kerf is a twentieth at most"


def test_the_seed_alone_decides() -> None:
    assert grown(LARGE, 2, 3, Growing(first=30)) == grown(LARGE, 2, 3, Growing(first=30))


def test_it_needs_one_kind_of_piece_without_end() -> None:
    asked = problem((1200, 800), SHELVES)
    few = Stock(
        id="few", kind=Kind.FULL, material="panel", length=900 * MM, width=800 * MM, count=2, cost=MONEY
    )
    for stock in ((few,), (few, *asked.stock)):
        model = shares(Problem(stock=stock, parts=asked.parts))[0]
        assert not Growth(model, 1).is_possible


def test_it_goes_on_for_any_number_of_turns_and_parts() -> None:
    endless = Growing(first=3, most=4, more=1e300)
    assert not grown(LARGE, 2, 6, endless)[0]
    assert not grown(LARGE, 2, 1, Growing(work=1.0))[0], "one plan at a time at least"
