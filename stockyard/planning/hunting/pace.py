"""How often the hunt tries something that may have run dry."""

from __future__ import annotations

from dataclasses import dataclass

# After so many tries without a find, and so much less often then.
DRY, SELDOM = 3, 4


@dataclass(slots=True)
class Pace:
    """Every other round, or seldom while nothing is found; `phase` says which round of the two."""

    phase: int
    dry: int = 0

    def due(self, beat: int) -> bool:
        """Whether it is time in this round."""
        return beat % (2 if self.dry < DRY else 2 * SELDOM) == self.phase

    def learn(self, *, found: bool) -> None:
        """Take notice of whether the last try found anything."""
        self.dry = 0 if found else self.dry + 1
