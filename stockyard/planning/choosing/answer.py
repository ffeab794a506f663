"""An answer on the way to a plan: layouts of one model and what they come to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.planning.choosing.choose import Figures, figures
from stockyard.planning.model import Candidate, Model


@dataclass(frozen=True, slots=True)
class Answer:
    """Layouts with their figures."""

    layouts: tuple[Candidate, ...]
    figures: Figures

    @property
    def complete(self) -> bool:
        """Whether every part is placed."""
        return not any(self.figures.missing)


def judge(model: Model, layouts: Sequence[Candidate]) -> Answer:
    """Return `layouts` with their figures."""
    return Answer(tuple(layouts), figures(model, layouts))
