"""A plan made and looked at before anything is promised: its cut cards as they would be."""

from __future__ import annotations

from collections.abc import Mapping

from stockyard.desk.card_numbers import numbered_layouts
from stockyard.desk.papers import cards_and_work
from stockyard.desk.plan_job import Answer
from stockyard.desk.planning import How
from stockyard.desk.replan import plan_again
from stockyard.desk.stored_layouts import plan_to_store
from stockyard.printing.papers import CutCard
from stockyard.yard import Yard, jobs
from stockyard.yard.planned import StoredPlan
from stockyard.yard.plans import standing_plan


def propose(yard: Yard, name: str, how: How, called: Mapping[str, str] | None = None) -> Answer:
    """Return the plan that would be made now, changing least of one that stands; `planning.take` promises it.

    `called` names parts that were renamed since that one was made.

    Raises:
        BadInput: no such job, a material that the yard does not know, nothing left to plan.
        Refused: the planner's answer failed its check.
    """
    return plan_again(yard, jobs.planned_job(yard, name), how.asked(yard), called)


def proposed_cards(yard: Yard, answer: Answer) -> tuple[CutCard, ...]:
    """Return the cut cards of a plan that is not promised, as they would be printed now.

    Raises:
        BadInput: a piece of it is no more.
    """
    asked = answer.asked
    with yard.reading():
        new = plan_to_store(answer.each, answer.plan.status, yard.settings, asked.limits, asked.seed)
        old = standing_plan(yard, answer.job.id)
        layouts = numbered_layouts(
            yard, answer.job, answer.layouts, old.layouts if old else (), answer.called
        )
        plan = StoredPlan(
            id=0, job_id=answer.job.id, number=0, state="standing", why=None, status=new.status,
            made_at=yard.clock(), layouts=layouts, making=new.making,
        )  # fmt: skip
        return cards_and_work(yard, answer.job, plan)[0]
