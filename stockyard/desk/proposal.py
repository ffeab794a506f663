"""A plan made and looked at before anything is promised: its cut cards as they would be."""

from __future__ import annotations

from stockyard.desk.papers import cards_and_work
from stockyard.desk.plan_job import Answer
from stockyard.desk.planning import How
from stockyard.desk.replan import plan_again
from stockyard.desk.stored_layouts import plan_to_store
from stockyard.printing.papers import CutCard
from stockyard.yard import Yard, jobs
from stockyard.yard.model import StoredPlan


def propose(yard: Yard, name: str, how: How) -> Answer:
    """Return the plan that would be made now, changing least of one that stands; `planning.take` promises it.

    Raises:
        BadInput: no such job, a material that the yard does not know, nothing left to plan.
        Refused: the planner's answer failed its check.
    """
    return plan_again(yard, jobs.planned_job(yard, name), how.asked(yard))


def proposed_cards(yard: Yard, answer: Answer) -> tuple[CutCard, ...]:
    """Return the cut cards of a plan that is not promised, as they would be printed now.

    Raises:
        BadInput: a piece of it is no more.
    """
    asked = answer.asked
    with yard.reading():
        new = plan_to_store(answer.each, answer.plan.status, yard.settings, asked.limits, asked.seed)
        plan = StoredPlan(
            id=0, job_id=answer.job.id, number=0, state="standing", why=None, status=new.status,
            made_at=yard.clock(), layouts=answer.layouts, making=new.making,
        )  # fmt: skip
        return cards_and_work(yard, answer.job, plan)[0]
