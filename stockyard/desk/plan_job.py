"""Plan a job: ask the planner, put tags to its answer, check it, and store it with its promises."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import TypeVar

from stockyard.desk.card_numbers import numbered_layouts
from stockyard.desk.plan_check import refuse_faults
from stockyard.desk.questions import AT_SAW, Question, questions
from stockyard.desk.stored_layouts import Answered, plan_to_store
from stockyard.desk.whole_job import WholeJob
from stockyard.errors import Refused
from stockyard.kinds import Kind
from stockyard.planning.child import at_hand, plan_in_child
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Bound, Plan, Status, Turn
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.report import Facts, facts, path
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_text
from stockyard.settings import WAIT
from stockyard.yard.model import Job
from stockyard.yard.planned import StoredLayout, StoredPlan
from stockyard.yard.plans import PiecesTaken, standing_plan, store_plan
from stockyard.yard.store import Yard

# Another plan may take a piece while this one is made: made again this often, then given up.
_TRIES = 3
# Share of the time that goes into the plan without offcuts, which is only for comparison.
_QUICK = 0.2
# A full piece on the rack counts this little beside one that must be bought: small enough for a rackful.
_RACK_SHARE = 1000
T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """How a plan is to be made: limits for all questions together, and who is told of progress.

    `aim` may change what is aimed at, never what is valid. `again` are the limits where a plan is only
    mended, None the same; `anew` makes a wholly new plan, whatever cards are in hand. `wait` is what a
    second's wait is worth, in fetched pieces.
    """

    limits: Limits
    again: Limits | None = None
    anew: bool = False
    seed: int = 0
    report: WholeJob | None = None
    stop: Callable[[], bool] | None = None
    compare: bool = True
    aim: Callable[[Problem], Problem] | None = None
    wait: Fraction = WAIT

    @property
    def is_stopped(self) -> bool:
        """Whether the user has stopped it."""
        return self.stop is not None and self.stop()


@dataclass(frozen=True, slots=True)
class Cards:
    """The cards of a plan beside those of the plan before, by number.

    `stand` are as they were, `changed` are of the same number and others, `new` had none, `out` are not
    wanted any more.
    """

    stand: tuple[int, ...]
    changed: tuple[int, ...]
    new: tuple[int, ...]
    out: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Answer:
    """A plan with every layout on one physical piece (by tag) or one piece to buy.

    `each` holds the questions, each with its own answer: that is what is verified and stored. `problem` and
    `plan` are all of them as one, for words and figures. `facts_without` is the same job from full pieces
    alone, None when that was not asked or cannot be done; `facts_split` that with all parts loose, where a
    matched set found no piece. `cards` says which cards of the plan before still
    hold, None where there was none. `called` names parts that were renamed since that plan.
    """

    job: Job
    each: tuple[Answered, ...]
    asked: Asked
    problem: Problem
    plan: Plan
    layouts: tuple[StoredLayout, ...]
    facts: Facts
    facts_without: Facts | None = None
    facts_split: Facts | None = None
    cards: Cards | None = None
    called: Mapping[str, str] = field(default_factory=dict)

    @property
    def body(self) -> str:
        """The plan as JSON, as `solve` writes it."""
        return plan_text(self.problem, self.plan)


Answering = Callable[[Question, float], tuple[Problem, Plan]]
"""Answers one question within a share of the limits, on rows that are a piece each."""


@at_hand()
def plan_job(
    yard: Yard, job: Job, asked: Asked, answering: Answering | None = None, beside: Sequence[int] = ()
) -> Answer:
    """Return the best plan for `job` from what is free now. Nothing is stored.

    `answering` answers a question in another way than from the ground up. `beside` are jobs whose plans
    would be given up for it.

    Raises:
        BadInput: a part wants an unknown material, or nothing is left to plan.
        Refused: the planner's answer failed its check.
    """
    if answering is None:
        answering = lambda question, share: fresh(question, asked, share)  # noqa: E731
    every = questions(yard, job, beside)
    answers: list[tuple[Problem, Plan]] = []
    shared = False
    for q in every:
        # A part that may be cut from sheets and boards lets both questions look at the same pieces.
        left = q.without_pieces({layout.stock for _, plan in answers for layout in plan.layouts})
        shared = shared or left.pieces != q.pieces
        answers.append(answering(left, _share(q, every)))
    if shared:
        # Each was proved alone; one that had taken other pieces might have left the other better ones.
        answers = [(p, replace(plan, status=_unproven(plan), bound=Bound(0, 0, ""))) for p, plan in answers]
    ids = {title: m.id for title, m in every[0].materials.items()}
    each = tuple(Answered(own, plan, ids) for own, plan in answers)
    for answered in each:
        found = faults(answered.problem, answered.plan)
        if found:
            raise Refused(f"internal error: the plan failed its check and is not kept: {found[0]}")
    problem = replace(
        answers[0][0],
        stock=_once(p.stock for p, _ in answers),
        parts=_all(p.parts for p, _ in answers),
        groups=_all(p.groups for p, _ in answers),
    )
    plan = _joined([plan for _, plan in answers], [q.title for q in every])
    if not asked.compare or asked.is_stopped:
        without = None
    elif _is_from_full(problem, plan):
        without = _facts(problem, plan, answers)
    else:
        without = _without_offcuts(every, asked)
    layouts = plan_to_store(each, plan.status, yard.settings, asked.limits, asked.seed).layouts
    split = _split(every, asked, problem, plan) if asked.compare and not asked.is_stopped else None
    return Answer(job, each, asked, problem, plan, layouts, _facts(problem, plan, answers), without, split)


def _facts(problem: Problem, plan: Plan, each: Iterable[tuple[Problem, Plan]]) -> Facts:
    """Return the facts of questions told as one; each says itself how far the router runs."""
    return replace(facts(problem, plan), path=sum(path(*answer) for answer in each))


def fresh(question: Question, asked: Asked, share: float) -> tuple[Problem, Plan]:
    """Answer a question from the ground up; what lies at the saw already is fetched for nothing."""
    at_saw = {row for row, every in question.pieces.items() if every[0].state in AT_SAW}
    return tagged(question, _ask(question.problem, asked, share, at_saw))


def plan_and_store(
    yard: Yard, job: Job, asked: Asked, make: Callable[[Yard, Job, Asked], Answer] = plan_job
) -> tuple[Answer, StoredPlan]:
    """Plan `job` in place of the plan it has and promise the pieces; made again when one vanished.

    Raises:
        PiecesTaken: pieces went to others each time it was made.
        Otherwise as `plan_job` and `store_plan`.
    """
    for attempt in range(_TRIES):
        answer = make(yard, job, asked)
        try:
            return answer, keep(yard, answer)
        except PiecesTaken:
            if attempt == _TRIES - 1:
                raise
    raise AssertionError("the last try returns or raises")


def keep(yard: Yard, answer: Answer) -> StoredPlan:
    """Store an answer in place of the plan that the job has, once what the tables hold is verified again."""
    old = standing_plan(yard, answer.job.id)
    asked = answer.asked
    new = plan_to_store(answer.each, answer.plan.status, yard.settings, asked.limits, asked.seed)
    layouts = numbered_layouts(yard, answer.job, answer.layouts, old.layouts if old else (), answer.called)
    return store_plan(
        yard, answer.job.id, replace(new, layouts=layouts), verify=refuse_faults,
        replaces=old.id if old else None, called=answer.called,
    )  # fmt: skip


def _all(groups: Iterable[tuple[T, ...]]) -> tuple[T, ...]:
    return tuple(item for group in groups for item in group)


def _once(groups: Iterable[tuple[T, ...]]) -> tuple[T, ...]:
    return tuple(dict.fromkeys(_all(groups)))


def _share(question: Question, every: Sequence[Question]) -> float:
    """Return the share of the time that a question gets: by how many parts it has."""
    sizes = [sum(p.count for p in q.problem.parts) for q in every]
    return sum(p.count for p in question.problem.parts) / sum(sizes)


def _part_of(limits: Limits, share: float) -> Limits:
    """Return limits for a share of the time or of the work."""
    return replace(
        limits,
        seconds=limits.seconds and limits.seconds * share,
        work=None if limits.work is None else round(limits.work * share),
    )


def _ask(problem: Problem, asked: Asked, share: float, at_saw: Collection[str] = ()) -> Plan:
    limits = replace(_part_of(asked.limits, share), second=round(problem.effort.pull * asked.wait))
    aimed = _saw_first(_rack_first(asked.aim(problem) if asked.aim else problem), at_saw)
    report = asked.report.of(problem) if asked.report else None
    stop = asked.stop
    if asked.is_stopped:  # what was not begun by then gets a first plan
        limits, stop = Limits(seconds=0.0), None
    plan = plan_in_child(aimed, limits, report, seed=asked.seed, stop=stop)
    if asked.aim is not None:
        # What was proved under another aim says nothing about the shop's own.
        return replace(plan, status=_unproven(plan), bound=Bound(0, 0, ""))
    if plan.status is Status.PROVEN:
        says = "no plan buys less, nor draws less from the racks than this one"
        return replace(plan, bound=Bound(facts(problem, plan).money, plan.bound.stock_area, says))
    return replace(plan, bound=replace(plan.bound, says=""))


def _unproven(plan: Plan) -> Status:
    return Status.SHORT if plan.unplaced else Status.FEASIBLE


def _rack_first(problem: Problem) -> Problem:
    """Return the problem with full pieces on the racks nearly free: they are paid for already.

    Money to be spent comes first, then what the pieces drawn are worth. No plan is worth less in full
    than it costs here, so a bound on this money is one on the full money too.
    """
    return replace(
        problem,
        stock=tuple(s if s.count is None else replace(s, cost=s.cost // _RACK_SHARE) for s in problem.stock),
    )


def _saw_first(problem: Problem, at_saw: Collection[str]) -> Problem:
    """Return the problem with what lies on the racks farther away, where something lies at the saw.

    To take it instead costs carrying both ways.
    """
    effort = problem.effort
    if not at_saw or not effort.dig:
        return problem
    both_ways = round(2 * effort.pull / effort.dig)
    far = (
        s if s.count is None or s.id in at_saw else replace(s, dig=s.dig + both_ways) for s in problem.stock
    )
    return replace(problem, stock=tuple(far))


def _is_from_full(problem: Problem, plan: Plan) -> bool:
    """Whether a plan of all parts takes no offcut, so that it tells what full pieces alone come to."""
    kinds = {s.id: s.kind for s in problem.stock}
    return not plan.unplaced and all(kinds[layout.stock] is Kind.FULL for layout in plan.layouts)


def _quick(asked: Asked) -> Asked:
    """Return what is asked for a quick plan to compare with, of which only the money is told."""
    return replace(asked, report=None, limits=replace(_part_of(asked.limits, _QUICK), money_alone=True))


def _without_offcuts(every: Sequence[Question], asked: Asked) -> Facts | None:
    """Return the facts of a quick plan from full pieces alone."""
    quick = _quick(asked)
    problems = [q.without_offcuts() for q in every]
    plans = [_ask(p, quick, _share(q, every)) for p, q in zip(problems, every, strict=True)]
    whole = replace(
        problems[0], stock=_once(p.stock for p in problems), parts=_all(p.parts for p in problems)
    )
    plan = _joined(plans, [q.title for q in every])
    return None if plan.unplaced else _facts(whole, plan, zip(problems, plans, strict=True))


def _split(every: Sequence[Question], asked: Asked, problem: Problem, plan: Plan) -> Facts | None:
    """Return the facts of a quick plan with all sets split, where a set found no piece and its parts do."""
    left_out = {u.part for u in plan.unplaced}
    in_sets = {m for group in problem.groups for m in group.members}
    if not left_out & in_sets:
        return None
    quick = _quick(asked)
    loose = [_ask(replace(q.problem, groups=()), quick, _share(q, every)) for q in every]
    whole = replace(
        every[0].problem,
        stock=_once(q.problem.stock for q in every),
        parts=_all(q.problem.parts for q in every),
        groups=(),
    )
    joined = _joined(loose, [q.title for q in every])
    return None if {u.part for u in joined.unplaced} & in_sets else facts(whole, joined)


def tagged(question: Question, plan: Plan) -> tuple[Problem, Plan]:
    """Return problem and plan with a row for every piece: on-hand rows by tag, the nearest piece first."""
    rows = {s.id: s for s in question.problem.stock}
    used: Counter[str] = Counter()
    layouts = []
    for layout in plan.layouts:
        behind = question.pieces.get(layout.stock)
        name = behind[used[layout.stock]].tag if behind else layout.stock
        used[layout.stock] += 1
        layouts.append(replace(layout, stock=name))
    stock = []
    for row in question.problem.stock:
        pieces = question.pieces.get(row.id)
        if pieces is None:
            stock.append(row)
        else:
            stock.extend(replace(rows[row.id], id=p.tag, count=1) for p in pieces)
    return replace(question.problem, stock=tuple(stock)), replace(plan, layouts=tuple(layouts))


def _joined(plans: Sequence[Plan], titles: Sequence[str]) -> Plan:
    """Return several plans, of questions that share no pieces and no parts, as one."""
    order = (Status.SHORT, Status.FEASIBLE, Status.PROVEN)
    told = [p.bound.says for p in plans]
    # What holds for one of them alone is said of it alone.
    named = (f"{title}: {text}" for title, text in zip(titles, told, strict=True) if text)
    return Plan(
        status=min((p.status for p in plans), key=order.index),
        bound=Bound(
            sum(p.bound.full_cost for p in plans),
            sum(p.bound.stock_area for p in plans),
            told[0] if len(set(told)) == 1 else "; ".join(named),
        ),
        layouts=_all(p.layouts for p in plans),
        unplaced=_all(p.unplaced for p in plans),
        work=tuple(_works(plans)),
    )


def _works(plans: Sequence[Plan]) -> Iterator[Turn]:
    """Yield the work of one plan after the other, its layouts numbered on."""
    before = 0
    for plan in plans:
        yield from (Turn(before + layout, step) for layout, step in plan.work)
        before += len(plan.layouts)
