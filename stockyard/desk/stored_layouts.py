"""Between the planner's answers and the rows of a stored plan, both ways and to the tick."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, fields, replace
from enum import StrEnum

from stockyard import __version__
from stockyard.measure import Area, Length, Money
from stockyard.planning.exact import problem_data, read_problem_data
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Bound, Cut, Layout, Leftover, Placement, Plan, Status, Turn, Unplaced
from stockyard.planning.problem import Edge, Problem, flaws_in
from stockyard.planning.tree import Axis
from stockyard.settings import Settings
from stockyard.yard.planned import (
    LeftOut,
    Making,
    NewPlan,
    PlannedCut,
    PlannedLeftover,
    PlannedPart,
    StoredLayout,
    StoredQuestion,
)


@dataclass(frozen=True, slots=True)
class Answered:
    """One question with its answer, on physical pieces: rows on hand are named by tag.

    `materials` says which material of the yard each name in the problem stands for.
    """

    problem: Problem
    plan: Plan
    materials: Mapping[str, int]


def rows_of(answered: Answered, *, first: int = 1, question: int = 1) -> tuple[StoredLayout, ...]:
    """Return the layouts of an answer as they are stored, numbered from `first` on."""
    rows = {s.id: s for s in answered.problem.stock}
    sizes = {p.id: (p.length, p.width) for p in answered.problem.parts}
    turns = {turn: n for n, turn in enumerate(answered.plan.work, 1)}
    return tuple(
        StoredLayout(
            number=first + n,
            tag=None if rows[layout.stock].count is None else layout.stock,
            material_id=answered.materials[rows[layout.stock].material],
            length=Length(rows[layout.stock].length),
            width=Length(rows[layout.stock].width),
            placed=tuple(_placed(p, sizes[p.part]) for p in layout.parts),
            cuts=tuple(_cut_row(c, turns.get(Turn(n + 1, c.step))) for c in layout.cuts),
            leftovers=tuple(_leftover_row(o) for o in layout.leftovers),
            question=question,
            stock=layout.stock,
            method=answered.problem.method,
        )
        for n, layout in enumerate(answered.plan.layouts)
    )


def _placed(p: Placement, size: tuple[int, int]) -> PlannedPart:
    return PlannedPart(
        name=p.part,
        length=Length(size[0]),
        width=Length(size[1]),
        x=Length(p.x),
        y=Length(p.y),
        turned=(p.dx, p.dy) != size,
    )


def _cut_row(c: Cut, turn: int | None) -> PlannedCut:
    low, high = c.gives
    return PlannedCut(
        step=c.step, piece=c.piece, direction=c.direction.value, at=Length(c.at), fence=Length(c.fence),
        low=low, high=high, turn=turn,
    )  # fmt: skip


def _leftover_row(o: Leftover) -> PlannedLeftover:
    factory = tuple(edge.value for edge in o.factory)
    return PlannedLeftover(
        x=Length(o.x), y=Length(o.y), length=Length(o.dx), width=Length(o.dy), factory=factory
    )


def plan_to_store(
    answers: Sequence[Answered], status: Status, settings: Settings, limits: Limits, seed: int
) -> NewPlan:
    """Return the answers of all questions of a job as one plan to be stored."""
    layouts: list[StoredLayout] = []
    for n, answered in enumerate(answers, 1):
        layouts += rows_of(answered, first=len(layouts) + 1, question=n)
    time = None if limits.seconds is None else round(limits.seconds * 1000)
    making = Making(
        kerf=Length(settings.kerf), seed=seed, time_limit=time, work_limit=limits.work, program=__version__,
        settings=json.dumps(_texts(settings), ensure_ascii=False),
    )  # fmt: skip
    asked = tuple(_question(answered) for answered in answers)
    return NewPlan(status=status.value, layouts=tuple(layouts), questions=asked, making=making)


def _texts(settings: Settings) -> dict[str, object]:
    found = {f.name: getattr(settings, f.name) for f in fields(settings)}
    return {name: v.value if isinstance(v, StrEnum) else v for name, v in found.items()}


def _question(answered: Answered) -> StoredQuestion:
    problem, plan = answered.problem, answered.plan
    named = {s.material for s in problem.stock}.union(*(p.materials or () for p in problem.parts))
    kept = {"problem": problem_data(problem), "materials": {m: answered.materials[m] for m in sorted(named)}}
    return StoredQuestion(
        problem=json.dumps(kept, ensure_ascii=False, separators=(",", ":")),
        status=plan.status.value,
        bound_cost=Money(plan.bound.full_cost),
        bound_area=Area(plan.bound.stock_area),
        bound_says=plan.bound.says,
        left_out=tuple(LeftOut(u.part, u.count, u.reason) for u in plan.unplaced),
        method=problem.method,
    )


def answers_of(
    layouts: Sequence[StoredLayout], questions: Sequence[StoredQuestion]
) -> Iterator[tuple[Answered, tuple[StoredLayout, ...]]]:
    """Yield each question of a stored plan with its answer, and the rows that the answer was read from.

    Raises:
        ValueError: what is kept of a question or a cut cannot be read.
    """
    for n, q in enumerate(questions, 1):
        kept = json.loads(q.problem)
        problem = read_problem_data(kept["problem"])
        rows = tuple(x for x in layouts if x.question == n)
        plan = Plan(
            status=Status(q.status),
            bound=Bound(q.bound_cost, q.bound_area, q.bound_says),
            layouts=tuple(flawed(layout_of(x), problem) for x in rows),
            unplaced=tuple(Unplaced(**asdict(out)) for out in q.left_out),
            work=work_of(rows),
        )
        yield Answered(problem, plan, kept["materials"]), rows


def flawed(layout: Layout, problem: Problem) -> Layout:
    """Return a layout whose leftovers have the flaws of its stock row: they are not stored a second time."""
    flaws = next((s.flaws for s in problem.stock if s.id == layout.stock), ())
    if not flaws:
        return layout
    lefts = (replace(o, flaws=flaws_in(flaws, o.x, o.y, o.dx, o.dy)) for o in layout.leftovers)
    return replace(layout, leftovers=tuple(lefts))


def work_of(layouts: Sequence[StoredLayout]) -> tuple[Turn, ...]:
    """Return the order of sawing over these layouts, which count from 1: one question after the other.

    What was planned in a hurry has no order of its own: it is sawn piece by piece.
    """
    turns = ((x.question, c.turn or 0, Turn(n, c.step)) for n, x in enumerate(layouts, 1) for c in x.cuts)
    return tuple(turn for _, _, turn in sorted(turns))


def layouts_of(layouts: Sequence[StoredLayout]) -> tuple[Layout, ...]:
    """Return the layouts of a stored plan as the planner has them."""
    return tuple(layout_of(x) for x in layouts)


def layout_of(x: StoredLayout) -> Layout:
    """Return one stored layout as the planner has it."""
    return Layout(
        stock=x.stock or x.tag or "",
        parts=tuple(
            Placement(p.name, p.x, p.y, *((p.width, p.length) if p.turned else (p.length, p.width)))
            for p in x.placed
        ),
        cuts=tuple(
            Cut(
                step=c.step, piece=c.piece, direction=Axis(c.direction), at=c.at, fence=c.fence,
                gives=(c.low, c.high),
            )
            for c in x.cuts
        ),
        leftovers=tuple(
            Leftover(o.x, o.y, o.length, o.width, tuple(map(Edge, o.factory))) for o in x.leftovers
        ),
    )  # fmt: skip


def leftover_word(layout: Layout) -> str:
    """Return what the leftovers are called in the cuts: `left`, longer where a part has that very name."""
    parts = {p.part for p in layout.parts}
    sawn = {c.piece for c in layout.cuts}
    given = {name for c in layout.cuts for name in c.gives if name is not None and name not in sawn}
    words = {name.rpartition(" ")[0] for name in given} - parts
    return min(words, default="left")
