"""The planner without a yard: a problem file in, a plan file out; and the planner made ready."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from stockyard.errors import Refused
from stockyard.measure import Unit
from stockyard.planning.child import plan_in_child
from stockyard.planning.files import read_problem
from stockyard.planning.json_rows import LARGEST_FILE
from stockyard.planning.limits import Improvement, Limits
from stockyard.planning.problem import Problem
from stockyard.planning.verify import faults
from stockyard.planning.written import plan_text

__all__ = ["LARGEST_FILE", "Improvement", "Limits", "Question", "Solved", "read", "solve", "warm_up"]


@dataclass(frozen=True, slots=True)
class Question:
    """A problem file that was read, and notes on what was ignored in it."""

    problem: Problem
    notes: tuple[str, ...]

    @property
    def unit(self) -> Unit:
        """The unit of its figures."""
        return self.problem.unit


@dataclass(frozen=True, slots=True)
class Solved:
    """A plan file, and how many parts found no place."""

    text: str
    missing: int


def read(content: bytes) -> Question:
    """Return the question in a problem file.

    Raises:
        BadInput: the field and the value that are wrong.
    """
    problem, notes = read_problem(content)
    return Question(problem, tuple(notes))


def solve(
    question: Question,
    limits: Limits,
    *,
    seed: int = 0,
    report: Callable[[Improvement], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Solved:
    """Return the plan of a question, replayed cut by cut; made in a process of its own.

    Raises:
        Refused: the planner was lost, or its plan failed its check.
    """
    plan = plan_in_child(question.problem, limits, report, seed=seed, stop=stop)
    found = faults(question.problem, plan)
    if found:
        raise Refused(f"internal error: the plan failed its check and is not written: {found[0]}")
    return Solved(plan_text(question.problem, plan), sum(left.count for left in plan.unplaced))


def warm_up() -> float:
    """Compile the planner now instead of at the first plan; return the seconds it took."""
    from stockyard.planning.hunting.warm_up import compile_all

    return compile_all()
