"""How the planning of a whole job stands, put together from what each of its questions tells."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from time import monotonic

from stockyard.planning.limits import Improvement
from stockyard.planning.problem import Problem

Report = Callable[[Improvement], None]


class WholeJob:
    """Hears of each question in turn, and tells of all that were asked so far on one clock."""

    def __init__(self, report: Report, seconds: float | None) -> None:
        """`seconds`: for the whole job, None without a limit."""
        self._report, self._seconds, self._begun = report, seconds, monotonic()
        self._stand: dict[frozenset[str], Improvement] = {}

    def of(self, problem: Problem) -> Report:
        """Return what is told of one question; of a question asked again the latest counts."""
        parts = frozenset(p.id for p in problem.parts)

        def report(now: Improvement) -> None:
            others = {asked: i for asked, i in self._stand.items() if asked.isdisjoint(parts)}
            self._stand = {**others, parts: now}
            every = tuple(self._stand.values())
            gone = monotonic() - self._begun
            self._report(
                replace(
                    now,
                    seconds=gone,
                    missing=sum(i.missing for i in every),
                    money=sum(i.money for i in every),
                    net=sum(i.net for i in every),
                    pieces=sum(i.pieces for i in every),
                    least=sum(i.least for i in every),
                    sketches=tuple(sketch for i in every for sketch in i.sketches),
                    left=None if self._seconds is None else max(0.0, self._seconds - gone),
                )
            )

        return report
