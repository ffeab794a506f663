"""Several jobs planned together: one plan for all, whose it gives what, and what that saves."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from stockyard.desk.ask_planner import Asked, fresh
from stockyard.desk.least_change import Standing, mended, renamed
from stockyard.desk.plan_job import Answer, keep, plan_job
from stockyard.desk.planning import How, PlanMade, told
from stockyard.desk.questions import Question, questions
from stockyard.desk.summary import numbered
from stockyard.figures import area as area_text
from stockyard.figures import money
from stockyard.measure import Area, Money
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Bound, Layout, Plan, Status, Unplaced
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.aim import price, score
from stockyard.planning.sawing.report import facts
from stockyard.wording import count
from stockyard.yard import Yard, jobs
from stockyard.yard.model import Job
from stockyard.yard.together import as_joined, join
from stockyard.yard.undo import undo

_NOTHING = Standing((), (), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """What a job takes of the plan of several: parts, the numbers of its cards, those of them that it shares
    with others, and its part of the money for full pieces, by the area of its parts.
    """

    job: str
    parts: int
    cards: tuple[int, ...]
    shared: tuple[int, ...]
    cost: Money


@dataclass(frozen=True, slots=True, kw_only=True)
class OneByOne:
    """What the jobs would take one after another: full pieces in money, material less what goes back."""

    money: Money
    material: Area


def plan_together(yard: Yard, names: Sequence[str], how: How) -> PlanMade:
    """Plan several jobs as one and promise the pieces; plans that they had are given up.

    Never dearer than one after another: that plan is taken where nothing better is found.

    Raises:
        BadInput: fewer than two jobs, no such job, or one has nothing left to plan.
        Refused: a job is not open, or the planner's answer failed its check.
    """
    with yard.reading():
        ids = [jobs.job(yard, name).id for name in names]
    joined, deed = join(yard, ids)
    try:
        answer, before = answer_together(yard, joined, how.asked(yard))
        keep(yard, answer)
    except BaseException:
        undo(yard, deed)
        raise
    return _told_together(yard, answer, before, promised=True)


def _told_together(yard: Yard, answer: Answer, before: OneByOne, *, promised: bool) -> PlanMade:
    made = told(yard, answer, promised=promised)
    with yard.reading():
        says = (*_shares_told(yard, shares(answer)), *_saved(yard, answer, before))
    return replace(made, says=(*made.says, *says))


def look_together(yard: Yard, names: Sequence[str], how: How) -> PlanMade:
    """Return the plan that several jobs would be given as one. Nothing is stored; errors as it."""
    with yard.reading():
        joined, given_up = as_joined(yard, [jobs.job(yard, name).id for name in names])
    answer, before = answer_together(yard, joined, how.asked(yard), given_up)
    return _told_together(yard, answer, before, promised=False)


def answer_together(
    yard: Yard, joined: Job, asked: Asked, beside: Sequence[int] = ()
) -> tuple[Answer, OneByOne]:
    """Return the plan of joined jobs, and what they would take one after another; nothing is stored.

    `beside` are jobs whose plans would be given up for it.
    """
    half = replace(asked, limits=_half(asked), compare=False)
    alone = _one_by_one(yard, joined, half, beside)
    taken: list[tuple[Problem, Plan]] = []

    def answering(question: Question, share: float) -> tuple[Problem, Plan]:
        problem, plan = fresh(question, half, share)
        one_by_one = _as_one(problem, alone)
        if one_by_one is not None:
            taken.append((problem, one_by_one))
            plan = min((plan, one_by_one), key=lambda p: _dear(problem, p))
        return problem, plan

    answer = plan_job(yard, joined, half, answering, beside)
    figures = [facts(problem, plan) for problem, plan in taken]
    before = OneByOne(
        money=Money(sum(f.money for f in figures)),
        material=Area(sum(f.stock_area - f.back_area for f in figures)),
    )
    return answer, before


def _half(asked: Asked) -> Limits:
    limits = asked.limits
    return replace(
        limits,
        seconds=limits.seconds and limits.seconds / 2,
        work=None if limits.work is None else max(1, limits.work // 2),
    )


def _dear(problem: Problem, plan: Plan) -> tuple[tuple[int, ...], int, int, int]:
    """Return what makes a plan dear, first what counts most."""
    figures = score(problem, plan)
    return figures.missing, figures.bought, figures.money, price(problem, plan)


def _one_by_one(
    yard: Yard, joined: Job, asked: Asked, beside: Sequence[int]
) -> list[tuple[Layout | Unplaced, str]]:
    """Return the layouts of each job planned after those before it, and what found no place, with its job."""
    found: list[tuple[Layout | Unplaced, str]] = []
    used: set[str] = set()
    for member in joined.members:
        own = jobs.job_by_id(yard, member)
        if not jobs.still_to_cut(yard, own):
            continue
        every = questions(yard, own, beside)
        for question in every:
            plan = fresh(question.without_pieces(used), asked, 1 / len(joined.members) / len(every))[1]
            found.extend((x, own.name) for x in plan.layouts)
            found.extend((x, own.name) for x in plan.unplaced)
            used |= {layout.stock for layout in plan.layouts}
    return found


def _as_one(problem: Problem, alone: Sequence[tuple[Layout | Unplaced, str]]) -> Plan | None:
    """Return the plans one after another as one answer to the question of all, None where it is none."""
    parts = {p.id for p in problem.parts}
    layouts, unplaced = [], []
    for x, job in alone:
        names = {x.part} if isinstance(x, Unplaced) else {p.part for p in x.parts}
        if not {f"{job}: {name}" for name in names} <= parts:
            continue
        if isinstance(x, Unplaced):
            unplaced.append(replace(x, part=f"{job}: {x.part}"))
        else:
            layouts.append(renamed(x, {name: f"{job}: {name}" for name in names}))
    status = Status.SHORT if unplaced else Status.FEASIBLE
    rest = Plan(status=status, bound=Bound(0, 0, ""), layouts=tuple(layouts), unplaced=tuple(unplaced))
    return mended(problem, _NOTHING, rest)


def shares(answer: Answer) -> Iterator[Share]:
    """Yield what each of the joined jobs takes of a plan."""
    named = jobs.named_parts(answer.job)
    whose = {name: part.job for name, part in named}
    sizes = {name: part.length * part.width for name, part in named}
    every = [(x.number, Counter(whose[p.name] for p in x.placed)) for x in answer.layouts]
    area: Counter[str] = Counter()
    for x in answer.layouts:
        for p in x.placed:
            area[whose[p.name]] += sizes[p.name]
    given = 0
    for n, (job, own) in enumerate(sorted(area.items()), 1):
        total = answer.facts.money
        cost = total - given if n == len(area) else total * own // area.total()
        given += cost
        yield Share(
            job=job,
            parts=sum(of[job] for _, of in every),
            cards=tuple(number for number, of in every if of[job]),
            shared=tuple(number for number, of in every if of[job] and len(of) > 1),
            cost=Money(cost),
        )


def _shares_told(yard: Yard, every: Iterator[Share]) -> Iterator[str]:
    for share in every:
        both = f" ({numbered(share.shared)} with others)" if share.shared else ""
        yield (
            f"{share.job}: {count(share.parts, 'part')} from {numbered(share.cards)}{both}; its share of the "
            f"full pieces by area: {money(share.cost, yard.settings.currency)}."
        )


def _saved(yard: Yard, answer: Answer, before: OneByOne) -> Iterator[str]:
    now = answer.facts
    less = before.money - now.money
    material = before.material - (now.stock_area - now.back_area)
    if less > 0:
        yield f"Planned one after another they would take {money(less, yard.settings.currency)} more."
    elif material > 0:
        more = area_text(Area(material), yard.unit)
        yield f"Planned one after another they would take {more} more of material."
    else:
        yield "Planned one after another they would take no more."
