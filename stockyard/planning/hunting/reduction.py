"""Questions made smaller before they are searched, and what is found told in the terms of the whole again."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from stockyard.planning.model import Model
from stockyard.planning.tree import Pattern


class Reduction(Protocol):
    """A smaller model that stands for another (`alike.py`, `thin.py`)."""

    @property
    def model(self) -> Model:
        """What is searched."""

    def back(self, patterns: Iterable[Pattern]) -> list[Pattern]:
        """Return patterns of all of a plan on the smaller model as patterns of the problem."""
