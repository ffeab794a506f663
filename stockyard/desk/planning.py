"""Planning a job: the planner asked, the plan stored with its promises, and told in words."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from stockyard.desk.alternatives import Alternative, compare_job
from stockyard.desk.ask_planner import Asked
from stockyard.desk.jobs import left_on_bench
from stockyard.desk.plan_job import Answer, Cards, keep, plan_and_store
from stockyard.desk.questions import questions
from stockyard.desk.replan import plan_again
from stockyard.desk.sets import loose_sets
from stockyard.desk.summary import layout_rows, summary
from stockyard.desk.whole_job import WholeJob
from stockyard.planning.limits import Improvement, Limits, Sketch
from stockyard.yard import Yard, jobs
from stockyard.yard.materials import materials
from stockyard.yard.model import Form, Job, State
from stockyard.yard.pieces import on_hand
from stockyard.yard.places import places
from stockyard.yard.pulling import pulled_for

__all__ = [
    "Alternative", "Answer", "How", "Improvement", "PlanMade", "Sketch", "compare", "look", "plan",
    "refuse_hopeless", "take", "told",
]  # fmt: skip


# A person stands at the saw and waits while a plan is mended.
MEND_SECONDS = 2.5


@dataclass(frozen=True, slots=True, kw_only=True)
class How:
    """How a plan is to be made. `seconds` None: the shop's setting; another `seed` may find another plan.

    `work`: rounds after which it stops, and then the clock only where `seconds` are given. `anew`: a wholly
    new plan, whatever cards of the plan before are in hand.

    `report` is told of each better plan and `stop` asked whether it is good enough, both in the caller's
    thread; planning itself goes on in a process of its own.
    """

    seconds: float | None = None
    work: int | None = None
    seed: int = 0
    anew: bool = False
    report: Callable[[Improvement], None] | None = None
    stop: Callable[[], bool] | None = None

    def asked(self, yard: Yard) -> Asked:
        """Return it with the shop's setting filled in; a plan that is only mended takes less time."""
        usual = yard.settings.plan_seconds
        seconds = self.seconds if self.work else self.seconds or usual
        limits = Limits(seconds=seconds, work=self.work)
        again = None if self.seconds or self.work else Limits(seconds=min(usual, MEND_SECONDS))
        whole = WholeJob(self.report, limits.seconds) if self.report else None
        return Asked(
            limits=limits,
            again=again,
            anew=self.anew,
            seed=self.seed,
            report=whole,
            stop=self.stop,
            wait=yard.settings.wait,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanMade:
    """A plan as told: a row a piece, sentences, and the plan itself as JSON (`body`).

    `promised` says that its pieces are the job's now; `missing` counts the parts that found no place;
    `on_bench` are tags that were pulled for the plan before and are wanted no more. `cards` says which
    cut cards of the plan before still hold, so that only the others are to be printed.
    """

    job: str
    rows: tuple[dict[str, object], ...]
    says: tuple[str, ...]
    body: str
    missing: int
    promised: bool
    on_bench: tuple[str, ...]
    cards: Cards | None


def plan(yard: Yard, name: str, how: How, called: Mapping[str, str] | None = None) -> PlanMade:
    """Plan a job, changing least of the plan it has, and promise the pieces: one deed.

    `called` names parts that were renamed since the plan it has was made.

    Raises:
        BadInput: no such job, a material that the yard does not know, nothing left to plan.
        PiecesTaken: pieces went to others each time it was made.
        Refused: the planner's answer failed its check.
    """
    with yard.reading():
        job, pulled = _pulled(yard, name)

    def make(yard: Yard, job: Job, asked: Asked) -> Answer:
        return plan_again(yard, job, asked, called)

    answer, _ = plan_and_store(yard, job, how.asked(yard), make)
    return told(yard, answer, promised=True, on_bench=left_on_bench(yard, pulled))


def refuse_hopeless(yard: Yard, name: str) -> None:
    """Look whether a job can be asked of the planner at all, before a plan is begun.

    Raises:
        BadInput: no such job, a material that the yard does not know, nothing left to plan, a batch that no
            pieces can give.
    """
    with yard.reading():
        questions(yard, jobs.planned_job(yard, name))


def look(yard: Yard, name: str, how: How) -> PlanMade:
    """Return the plan that would be made now. Nothing is promised; errors as `plan`."""
    return told(yard, plan_again(yard, jobs.planned_job(yard, name), how.asked(yard)), promised=False)


def compare(yard: Yard, name: str, how: How) -> tuple[Alternative[Answer], ...]:
    """Return up to three plans for a job that differ for a reason, side by side; `take` keeps one.

    Each is made within the time of `how`. Nothing is promised; errors as `plan`.
    """
    return compare_job(yard, jobs.planned_job(yard, name), how.asked(yard))


def take(yard: Yard, answer: Answer) -> PlanMade:
    """Promise the pieces of a plan that was made before, in place of the plan the job has: one deed.

    Raises:
        PiecesTaken: some went to others meanwhile.
    """
    with yard.reading():
        _, pulled = _pulled(yard, str(answer.job.id))
    keep(yard, answer)
    return told(yard, answer, promised=True, on_bench=left_on_bench(yard, pulled))


def _pulled(yard: Yard, name: str) -> tuple[Job, tuple[str, ...]]:
    job = jobs.planned_job(yard, name)
    return job, tuple(p.tag for p in pulled_for(yard, job.id))


def told(yard: Yard, answer: Answer, *, promised: bool, on_bench: tuple[str, ...] = ()) -> PlanMade:
    """Return a plan as it is told."""
    at_hand = (State.RACKED, State.PROMISED, State.PULLED, State.BENCH)
    with yard.reading():
        codes = {p.id: p.code for p in places(yard)}
        boards = {m.title for m in materials(yard) if m.form is Form.BOARD}
        every = on_hand(yard, states=at_hand)
        off = {State.PULLED: "saw", State.BENCH: "bench"}
        where = {p.tag: codes.get(p.place_id or 0, off.get(p.state, "")) for p in every}
        at_saw = {p.tag for p in every if p.state in off}
        return PlanMade(
            job=answer.job.name,
            rows=tuple(layout_rows(answer, where, boards)),
            says=(
                *summary(answer, yard.unit, yard.settings.currency, yard.settings.seconds, at_saw),
                *loose_sets(answer.job, answer.problem),
            ),
            body=answer.body,
            missing=sum(left.count for left in answer.plan.unplaced),
            promised=promised and bool(answer.plan.layouts),
            on_bench=on_bench,
            cards=answer.cards,
        )
