"""Plan a job: ask the planner, put tags to its answer, check it, and store it with its promises."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from stockyard.desk.ask_planner import Asked, fresh, share_of, unproven
from stockyard.desk.card_numbers import numbered_layouts
from stockyard.desk.compared import is_from_full, left_for_plan, split, without_offcuts
from stockyard.desk.joined_plan import facts_of, joined, joined_problem
from stockyard.desk.plan_check import refuse_faults
from stockyard.desk.questions import Question, questions
from stockyard.desk.stored_layouts import Answered, plan_to_store
from stockyard.errors import Refused
from stockyard.planning.child import at_hand
from stockyard.planning.plan import Bound, Plan
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.report import Facts
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_text
from stockyard.yard.model import Job
from stockyard.yard.planned import StoredLayout, StoredPlan
from stockyard.yard.plans import PiecesTaken, standing_plan, store_plan
from stockyard.yard.store import Yard

# Another plan may take a piece while this one is made: made again this often, then given up.
_TRIES = 3


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
    own = left_for_plan(every, asked)
    answers: list[tuple[Problem, Plan]] = []
    shared = False
    for q in every:
        # A part that may be cut from sheets and boards lets both questions look at the same pieces.
        left = q.without_pieces({layout.stock for _, plan in answers for layout in plan.layouts})
        shared = shared or left.pieces != q.pieces
        answers.append(answering(left, own * share_of(q, every)))
    if shared:
        # Each was proved alone; one that had taken other pieces might have left the other better ones.
        answers = [(p, replace(plan, status=unproven(plan), bound=Bound(0, 0, ""))) for p, plan in answers]
    ids = {title: m.id for title, m in every[0].materials.items()}
    each = tuple(Answered(problem, plan, ids) for problem, plan in answers)
    for answered in each:
        found = faults(answered.problem, answered.plan)
        if found:
            raise Refused(f"internal error: the plan failed its check and is not kept: {found[0]}")
    problem = joined_problem([p for p, _ in answers])
    plan = joined([plan for _, plan in answers], [q.title for q in every])
    if not asked.compare or asked.is_stopped:
        without = None
    elif is_from_full(problem, plan):
        without = facts_of(problem, plan, answers)
    else:
        without = without_offcuts(every, asked, own)
    layouts = plan_to_store(each, plan.status, yard.settings, asked.limits, asked.seed).layouts
    loose = split(every, asked, problem, plan) if asked.compare and not asked.is_stopped else None
    return Answer(job, each, asked, problem, plan, layouts, facts_of(problem, plan, answers), without, loose)


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
