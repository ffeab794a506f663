"""Make the compiled kernels ready before they are needed."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from time import monotonic

from stockyard.planning.boards.bars import compile_bars
from stockyard.planning.boards.fills import compile_fills
from stockyard.planning.boards.refill import compile_refill
from stockyard.planning.hunting.growth import Growth
from stockyard.planning.hunting.rebuilder import MANY, Rebuilder, Stage
from stockyard.planning.hunting.solve import solve
from stockyard.planning.limits import Limits
from stockyard.planning.model import shares
from stockyard.planning.placing.closing import Closer
from stockyard.planning.placing.finish import finish_routed
from stockyard.planning.placing.kernel import LARGE_FIRST
from stockyard.planning.placing.placer import Placer
from stockyard.planning.plan import Bound, Status
from stockyard.planning.problem import Kind, Method, Part, Problem, Stock
from stockyard.planning.tables.beam import compile_beams
from stockyard.planning.tables.draws import compile_draws
from stockyard.planning.tables.flawed import compile_flawed


def compile_all() -> float:
    """Compile and cache every kernel by solving two small jobs; return the seconds that took."""
    begun = monotonic()
    sheet = Stock(id="sheet", kind=Kind.FULL, material="any", length=1000, width=500, count=None, cost=1)
    offcut = Stock(id="offcut", kind=Kind.OFFCUT, material="any", length=600, width=400)
    parts = tuple(Part(id=str(n), length=200 + 7 * n, width=150 + 5 * n, count=2) for n in range(6))
    solve(Problem(stock=(sheet, offcut), parts=parts, kerf=3), limits=Limits(seconds=None, work=6))
    _place_freely(Problem(stock=(sheet, offcut), parts=parts, kerf=3, method=Method.ROUTER))
    board = Stock(id="board", kind=Kind.FULL, material="any", length=1000, width=100, count=None, cost=1)
    lengths = (Part(id=str(n), length=300 + n, width=100, count=2) for n in range(3))
    solve(Problem(stock=(board,), parts=tuple(lengths)), limits=Limits(seconds=None, work=1))
    _lower_money(Problem(stock=(sheet,), parts=parts))
    compile_bars()
    compile_fills()
    compile_beams()
    compile_refill()
    compile_draws()
    compile_flawed()
    return monotonic() - begun


def _place_freely(problem: Problem) -> None:
    """Do what only jobs for a router come to, whose first plan may be the best as well."""
    model = shares(problem)[0]
    placer = Placer(model, 0, most_open=4, most_on_one=12)
    placer.set_rules(budget=MANY, net=True, short=False)
    placer.load(())
    placer.construct(LARGE_FIRST)
    placer.run(2)
    finish_routed(
        problem, [c.pattern for c in placer.answer()], bound=Bound(0, 0, "none"), status=Status.FEASIBLE
    )
    Closer(model, 0, 0).attempt()
    half = Part(id="half", length=500, width=500, count=2)
    covered = replace(problem, stock=problem.stock[:1], parts=(half,), kerf=0)
    Closer(shares(covered)[0], 0, 0).attempt()


def _lower_money(problem: Problem) -> None:
    """Do what small jobs never come to, since their first plan is the best."""
    rebuilder = Rebuilder(shares(problem)[0], 0)
    rebuilder.set_rules(Stage.PLACE, budget=MANY)
    rebuilder.load(())
    rebuilder.construct()
    rebuilder.lower_money()
    with ThreadPoolExecutor(1) as team:
        Growth(shares(problem)[0], 0).round(team, 1, 2, 0.0, lambda: False)
