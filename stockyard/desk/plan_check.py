"""Stored plans verified from the record alone: every question with the answer that the tables give."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from stockyard.desk.stored_layouts import Answered, answers_of
from stockyard.errors import Refused, StockyardError
from stockyard.flaws import flaws_in
from stockyard.kinds import Kind, Method
from stockyard.planning.verify import faults
from stockyard.yard.check import Difference, Mend, check
from stockyard.yard.jobs import job_by_id
from stockyard.yard.pieces import by_tag
from stockyard.yard.plan_rows import questions_of
from stockyard.yard.planned import Making, StoredLayout, StoredPlan, StoredQuestion
from stockyard.yard.plans import plans_that_stand
from stockyard.yard.store import Yard


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check of a yard found: differences to mend, plans verified, and notes that call for nothing."""

    differences: tuple[Difference, ...]
    verified: int
    notes: tuple[str, ...]


def check_yard(yard: Yard) -> Checked:
    """Look whether the record is true to itself and every plan that stands holds."""
    differences = check(yard)
    try:
        with yard.reading():
            return _with_plans(yard, differences)
    except (StockyardError, ValueError, LookupError, TypeError) as error:
        if not differences:
            raise
        # A record that is not true may hold no plan that could be judged.
        return Checked(differences, 0, (f"the plans were not verified ({error}): mend the record first",))


def _with_plans(yard: Yard, differences: tuple[Difference, ...]) -> Checked:
    found, verified, notes = list(differences), 0, []
    for plan in plans_that_stand(yard):
        job = job_by_id(yard, plan.job_id).name
        title = f"plan {plan.number} of job {job}"
        if plan.making is None:
            notes.append(f"{title} was made before plans were kept whole: its cuts cannot be verified again")
            continue
        verified += 1
        for fault in (*plan_faults(plan, questions_of(yard, plan.id)), *_on_flaws(yard, plan)):
            found.append(Difference(f"{title}: {fault}", Mend.PLAN_AGAIN, job))
    return Checked(tuple(found), verified, tuple(notes))


def _on_flaws(yard: Yard, plan: StoredPlan) -> Iterator[str]:
    """Look at the flaws of each piece as they are known now; a plan known to be broken is not asked."""
    if plan.state == "broken":
        return
    for x in plan.layouts:
        flaws = by_tag(yard, x.tag).flaws if x.tag else ()
        for part in x.placed:
            if flaws_in(flaws, *part.box):
                yield f"layout {x.number}: part '{part.name}' lies on a flaw of {x.tag}"


def refuse_faults(plan: StoredPlan, questions: tuple[StoredQuestion, ...]) -> None:
    """Look that a plan holds as it was read back.

    Raises:
        Refused: it does not.
    """
    found = plan_faults(plan, questions)
    if found:
        raise Refused(f"internal error: the plan failed its check and is not kept: {found[0]}")


def plan_faults(plan: StoredPlan, questions: Sequence[StoredQuestion]) -> tuple[str, ...]:
    """Return what is wrong with a stored plan, each fault in one line; nothing when it holds.

    Each question is verified by the rule it was asked under, and its rows must be what that names.
    """
    assert plan.making is not None
    found: list[str] = []
    try:
        for answered, rows in answers_of(plan.layouts, questions):
            found += faults(answered.problem, answered.plan)
            for x in rows:
                found += [f"layout {x.number}: {fault}" for fault in _row_faults(answered, x)]
            if answered.problem.kerf != apart(plan.making, answered.problem.method):
                found.append("it was asked for another kerf than it says")
            if any(x.method is not answered.problem.method for x in rows):
                found.append("it was asked for another machine than it says")
    except (ValueError, LookupError, TypeError) as error:
        return (f"what is kept of it cannot be read: {error}",)
    found += _whole(plan, plan.making, questions)
    return tuple(found)


def _row_faults(answered: Answered, x: StoredLayout) -> Iterator[str]:
    """Compare a row with the stock of the problem that it is one of."""
    row = next((s for s in answered.problem.stock if s.id == x.stock), None)
    if row is None:
        return
    if (x.length, x.width) != (row.length, row.width):
        yield "its piece has another size than in the problem"
    if x.material_id != answered.materials.get(row.material):
        yield "its piece is of another material than in the problem"
    # A full piece may have taken the place of one like it when it was pulled.
    if row.count is not None and row.kind is not Kind.FULL and x.tag != row.id:
        yield f"it is cut from {x.tag}, the problem names {row.id}"
    sizes = {p.id: (p.length, p.width) for p in answered.problem.parts}
    for p in x.placed:
        if sizes.get(p.name, (p.length, p.width)) != (p.length, p.width):
            yield f"part '{p.name}' has another size than in the problem"


def apart(making: Making, method: Method) -> int:
    """Return how far apart the settings kept with a plan lay parts: the kerf, or the bit and its margin."""
    if method is Method.SAW:
        return making.kerf
    settings = json.loads(making.settings)
    return int(settings["bit"]) + int(settings["bit_margin"])


def _whole(plan: StoredPlan, making: Making, questions: Sequence[StoredQuestion]) -> Iterator[str]:
    """Look that questions and layouts together are the plan."""
    if not questions:
        yield "nothing is kept of what was asked"
    if any(not 1 <= x.question <= len(questions) for x in plan.layouts):
        yield "a layout answers no question"
    numbers = [x.number for x in plan.layouts]
    if numbers != sorted(set(numbers)) or numbers[:1] < [1] * bool(numbers):
        yield "its layouts do not have a number each"
    tags = [x.tag for x in plan.layouts if x.tag is not None]
    if len(tags) != len(set(tags)):
        yield "a piece is in it twice"
    order = ("short", "feasible", "proven")
    if questions and plan.status != min((q.status for q in questions), key=order.index):
        yield f"it says {plan.status}, which its questions do not"
    if not making.program or not making.settings:
        yield "it does not say which program made it, or under which settings"
