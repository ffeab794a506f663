"""How often the hunt tries something that may have run dry."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Seldom:
    """When something has run dry."""

    after: int = 3
    """Tries without a find."""
    times: int = 4
    """How much less often it is tried then."""


@dataclass(slots=True)
class Pace:
    """Every other round, or seldom while nothing is found; `phase` says which round of the two."""

    phase: int
    dry: int = 0
    manner: Seldom = Seldom()

    def due(self, beat: int) -> bool:
        """Whether it is time in this round."""
        return beat % (2 if self.dry < self.manner.after else 2 * self.manner.times) == self.phase

    def learn(self, *, found: bool) -> None:
        """Take notice of whether the last try found anything."""
        self.dry = 0 if found else self.dry + 1
