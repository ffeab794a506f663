"""A job planned again: what an upset does not touch stays, unless a new plan saves more than it upsets."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import count

from stockyard.desk.ask_planner import Asked, fresh, tagged
from stockyard.desk.least_change import Standing, arranged, emptiest, mended, standing, standing_in
from stockyard.desk.plan_job import Answer, Cards, plan_job
from stockyard.desk.questions import AT_SAW, Question, price_of
from stockyard.desk.stored_layouts import plan_to_store
from stockyard.kinds import Kind
from stockyard.measure import MONEY
from stockyard.planning.child import PlannerLost, at_hand
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Bound, Layout, Plan, Status, Turn
from stockyard.planning.problem import Problem
from stockyard.planning.sawing.aim import price, score
from stockyard.settings import Settings
from stockyard.yard.jobs import named_parts
from stockyard.yard.kept_tags import same_layouts
from stockyard.yard.model import Job, State
from stockyard.yard.pieces import by_tags
from stockyard.yard.planned import StoredLayout, StoredPlan
from stockyard.yard.plans import standing_plan
from stockyard.yard.store import Yard

# Share of the time for what an upset touches, twice; the rest looks for a wholly new plan.
_TOUCHED = 0.25


@at_hand()
def plan_again(yard: Yard, job: Job, asked: Asked, called: Mapping[str, str] | None = None) -> Answer:
    """Return a plan for `job` that changes least of the plan it has; errors as `plan_job`.

    A question that nothing touched keeps its answer. Nothing touched at all means that a person asks for
    a better plan: then all is asked anew, and what is found must save more than the cards it changes cost.
    `called` names parts that were renamed since the plan was made.
    """
    old = standing_plan(yard, job.id)
    if old is None or old.making is None or asked.anew or asked.aim is not None:
        return plan_job(yard, job, asked)
    mending = _Mending.of(yard, old, job, asked, called or {})
    if not mending.uncut:
        return plan_job(yard, job, asked)
    answer = plan_job(yard, job, mending.asked, mending.answer)
    if not mending.touched:
        mending = replace(mending, asked=asked, better=True)
        answer = plan_job(yard, job, asked, mending.answer)
    return _with_cards(replace(answer, called=mending.called), yard, mending.uncut)


@dataclass(slots=True)
class _Mending:
    """The plan to be mended, and whether any question was found touched. `better`: look for more anyway.

    `parts` are the names of the job's parts.
    """

    settings: Settings
    parts: frozenset[str]
    uncut: tuple[StoredLayout, ...]
    full: frozenset[str]
    asked: Asked
    called: Mapping[str, str]
    better: bool = False
    touched: bool = False

    @classmethod
    def of(cls, yard: Yard, old: StoredPlan, job: Job, asked: Asked, called: Mapping[str, str]) -> _Mending:
        pieces = {p.tag: p for p in by_tags(yard, [x.tag for x in old.layouts if x.tag])}
        uncut = [x for x in old.layouts if x.tag is None or pieces[x.tag].state is not State.CUT]
        full = frozenset(tag for tag, p in pieces.items() if p.kind is Kind.FULL)
        hurried = replace(asked, limits=asked.again or asked.limits, compare=False)
        parts = frozenset(name for name, _ in named_parts(job))
        return cls(yard.settings, parts, tuple(uncut), full, hurried, called)

    def answer(self, question: Question, share: float) -> tuple[Problem, Plan]:
        """Answer a question; a piece whose card gives other parts is taken only if nothing else will do."""
        own = self.parts & {p.id for p in question.problem.parts}
        gives = {x.tag: {self.called.get(p.name, p.name) for p in x.placed} for x in self.uncut if x.tag}
        others = {tag for tag, names in gives.items() if names & self.parts and not names & own}
        problem, plan = self._answer(question.without_pieces(others), share)
        return self._answer(question, share) if others and plan.unplaced else (problem, plan)

    def _answer(self, question: Question, share: float) -> tuple[Problem, Plan]:
        """Answer a question with the layouts that can stay, or anew where that is worth the change.

        Between all that can stay and nothing lie two more plans: without the layout that gives least, and the
        new one with what it gives as before cut as before.
        """
        problem, _ = tagged(question, _NO_PLAN)
        kept = self._standing(question, problem)
        touched = kept.left is not None or bool(kept.moved)
        self.touched = self.touched or touched
        plans = [self._mended(problem, kept, share)]
        if plans[0] is not None and not touched and not self.better:
            return problem, plans[0]
        if kept.moved:
            plans.append(self._mended(problem, self._standing(question, problem, twins=False), share))
        if (thin := emptiest(kept, problem)) is not None:
            plans.append(self._mended(problem, self._standing(question, problem, but=thin), share))
        anew, lost = _tried(question, _within(self.asked, 1 - 2 * _TOUCHED), share)
        if anew is not None:
            plans += [mended(problem, *standing_in(anew, kept, problem)), anew]
        elif not any(plans):
            raise lost or AssertionError("what is not lost is a plan")
        if plans[0] is None:
            self.touched = True
        best = self._least(question, problem, kept, [plan for plan in plans if plan is not None])
        return problem, best if anew is None or best is anew else _bounded(problem, best, anew)

    def _standing(
        self, question: Question, problem: Problem, *, but: int = 0, twins: bool = True
    ) -> Standing:
        old = [x for x in self.uncut if x.number != but]
        return standing(question, problem, old, full=self.full, called=self.called, twins=twins)

    def _mended(self, problem: Problem, kept: Standing, share: float) -> Plan | None:
        if kept.left is None:
            return mended(problem, kept, None)
        rest, _ = _tried(kept.left, _within(self.asked, _TOUCHED), share)
        return None if rest is None else mended(problem, kept, rest)

    def _least(self, question: Question, problem: Problem, kept: Standing, plans: Sequence[Plan]) -> Plan:
        """Return the plan that places most, then takes least with the cards it changes.

        What must be bought counts as money, what full pieces on the racks cost as far as another plan that
        buys no more draws less: the order of a plan made from the ground up.
        """
        rate = price_of(problem.stock)
        figures = [score(problem, plan) for plan in plans]

        def takes(n: int) -> tuple[tuple[int, ...], Fraction]:
            own = figures[n]
            rivals = (x for x in figures if x.missing == own.missing and x.bought <= own.bought)
            dearer = own.money - own.bought - min(x.money - x.bought for x in rivals)
            money = Fraction(own.bought + dearer) / rate if rate else Fraction(0)
            work = self._takes(question, problem, plans[n]) + self._change(problem, kept, plans[n])
            return own.missing, money + work

        return plans[min(range(len(plans)), key=takes)]

    def _takes(self, question: Question, problem: Problem, plan: Plan) -> Fraction:
        """Return what a plan takes, as ticks² of good material, with what it leaves at the saw or fetches."""
        at_saw = {p.tag for every in question.pieces.values() for p in every if p.state in AT_SAW}
        used = at_saw & {layout.stock for layout in plan.layouts}
        carried = problem.effort.pull * (len(at_saw - used) - len(used))
        return Fraction(price(problem, plan) + carried)

    def _change(self, problem: Problem, kept: Standing, anew: Plan) -> Fraction:
        """Return what the cards cost that stand in a mended plan and not in the new one (ticks²)."""
        shapes = Counter(_shape(x) for x in anew.layouts)
        own = (x for x, row in zip(kept.layouts, kept.rows, strict=True) if row.number not in kept.moved)
        lost = Counter(map(_shape, own)) - shapes
        seconds = self.settings.change_seconds * lost.total()
        rate = price_of(problem.stock)
        if rate:
            return Fraction(self.settings.hour_worth * MONEY * seconds, 3600) / rate
        return Fraction(problem.effort.pull * seconds, max(1, self.settings.pull_seconds))


def _tried(question: Question, asked: Asked, share: float) -> tuple[Plan | None, PlannerLost | None]:
    """Return an answer from the ground up, or how the planner was lost: another answer may do without it."""
    try:
        return fresh(question, asked, share)[1], None
    except PlannerLost as lost:
        return None, lost


_NO_PLAN = Plan(status=Status.FEASIBLE, bound=Bound(0, 0, ""), layouts=())


def _shape(layout: Layout) -> tuple[object, ...]:
    placed = tuple(sorted((p.part, p.x, p.y, p.dx, p.dy) for p in layout.parts))
    return layout.stock, placed, layout.leftovers


def _within(asked: Asked, share: float) -> Asked:
    limits = asked.limits
    return replace(
        asked,
        limits=Limits(
            seconds=limits.seconds and limits.seconds * share,
            work=None if limits.work is None else max(1, round(limits.work * share)),
        ),
    )


def _bounded(problem: Problem, plan: Plan, anew: Plan) -> Plan:
    """Return a mended plan with what the new one proved of the same problem."""
    money = score(problem, plan).money
    proven = anew.status is Status.PROVEN and anew.bound.full_cost == money and not plan.unplaced
    bound = Bound(min(anew.bound.full_cost, money), 0, anew.bound.says if proven else "")
    return replace(plan, bound=bound, status=Status.PROVEN if proven else plan.status)


def _with_cards(answer: Answer, yard: Yard, old: Sequence[StoredLayout]) -> Answer:
    """Return an answer whose cards that stand keep their numbers, the others in order with them."""
    rows = answer.layouts
    same = same_layouts(old, rows, answer.called)
    numbers = _numbers(rows, old, same)
    each, sorted_numbers, done = [], [], 0
    for answered in answer.each:
        own = numbers[done : done + len(answered.plan.layouts)]
        order = sorted(range(len(own)), key=own.__getitem__)
        each.append(replace(answered, plan=arranged(answered.plan, order)))
        sorted_numbers += sorted(own)
        done += len(own)
    asked = answer.asked
    made = plan_to_store(each, answer.plan.status, yard.settings, asked.limits, asked.seed).layouts
    layouts = tuple(replace(x, number=n) for x, n in zip(made, sorted_numbers, strict=True))
    before = {x.number for x in old}
    stand = {numbers[n - 1] for n in same}
    cards = Cards(
        stand=tuple(sorted(stand)),
        changed=tuple(sorted((before & set(numbers)) - stand)),
        new=tuple(sorted(set(numbers) - before)),
        out=tuple(sorted(before - set(numbers))),
    )
    work: list[Turn] = []
    first = 0
    for answered in each:
        work += [Turn(first + t.layout, t.step) for t in answered.plan.work]
        first += len(answered.plan.layouts)
    plan = replace(answer.plan, layouts=tuple(x for a in each for x in a.plan.layouts), work=tuple(work))
    return replace(answer, each=tuple(each), plan=plan, layouts=layouts, cards=cards)


def _numbers(
    rows: Sequence[StoredLayout], old: Sequence[StoredLayout], same: Mapping[int, StoredLayout]
) -> list[int]:
    """Return the number of each card: as before where it stands or its piece had one, else that of a card of
    the same material that is out, else a new one.
    """
    if not same:
        return [x.number for x in rows]
    keys: tuple[Callable[[StoredLayout], object], ...] = (lambda x: x.tag or x, lambda x: x.material_id)
    found = {n: before.number for n, before in same.items()}
    out = [x for x in old if x.number not in found.values()]
    for key in keys:
        for x in rows:
            before = next((b for b in out if key(b) == key(x) and x.number not in found), None)
            if before is not None:
                found[x.number] = before.number
                out.remove(before)
    free = count(max(x.number for x in old) + 1)
    return [found[x.number] if x.number in found else next(free) for x in rows]
