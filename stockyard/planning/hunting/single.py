"""Two sheets, or one: the question that is left when a plan takes two and one is not refuted."""

from __future__ import annotations

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from time import monotonic

from stockyard.planning.model import Candidate, Model
from stockyard.planning.placing.closing import EXHAUSTED, GROWTH, Closer
from stockyard.planning.placing.exact import one_sheet
from stockyard.planning.placing.spots import blocked


@dataclass(frozen=True, slots=True)
class Asking:
    """How it is asked."""

    tight: float = 0.05
    """Waste, as a share of the sheet, up to which gaps are closed one after the other."""
    work: float = 5.0
    """Work of the exact answer when nothing may depend on the clock."""


class Single:
    """Asks both ways: by closing gaps, and exactly beside that."""

    def __init__(self, model: Model, seed: int, *, repeatable: bool, manner: Asking | None = None) -> None:
        self._manner = manner or Asking()
        self._model, self._seed, self._repeatable = model, seed, repeatable
        self._closer: Closer | None = Closer(model, 0, seed)
        piece = model.stock[0]
        flawed = bool(blocked(model.problem.stock[piece.row]))
        if flawed or not 0 <= self._closer.waste <= self._manner.tight * piece.length * piece.width:
            self._closer = None
        self._sides = [self._closer] if self._closer is not None else []
        if self.is_gapless:
            self._sides.append(Closer(model, 0, seed + 1, swapped=True))
        self._took = 0.0  # seconds of the last try without gaps
        self._exact: Future[tuple[bool | None, Candidate | None]] | None = None
        self._asked = False
        self.impossible = False
        """Whether it is proved that one sheet does not do."""

    @property
    def is_gapless(self) -> bool:
        """Whether there may be no waste at all, so that no other search helps."""
        return self._closer is not None and self._closer.is_gapless

    def turn(self, team: ThreadPoolExecutor, seconds: float) -> Candidate | None:
        """Go on for a while; return the one sheet when it is found."""
        if self.is_gapless:
            return self._from_both_sides(team, seconds)
        if not self._asked:
            self._asked = True
            work = self._manner.work if self._repeatable else None
            limit = 1e4 if self._repeatable else seconds
            self._exact = team.submit(one_sheet, self._model, 0, seconds=limit, work=work, seed=self._seed)
        if self._exact is not None and (self._repeatable or self._exact.done()):
            fits, found = self._exact.result()
            self._exact = None
            if fits is not None:
                self.impossible = not fits
                return found
        if self._closer is None:
            return None
        ended, found = self._closer.attempt()
        if ended == EXHAUSTED and not self._closer.waste:
            self.impossible = True
        return found

    def _from_both_sides(self, team: ThreadPoolExecutor, seconds: float) -> Candidate | None:
        """Try without gaps from both sides of the sheet: which is the easier can not be seen."""
        begun, longer = monotonic(), self._took * GROWTH
        share = 1.0 if self._repeatable or longer < seconds else seconds / longer
        ends = list(team.map(lambda closer: closer.attempt(share), self._sides))
        self._took = (monotonic() - begun) / share
        self.impossible = any(ended == EXHAUSTED for ended, _ in ends)
        return next((found for _, found in ends if found is not None), None)


def is_nearly_one(model: Model) -> bool:
    """Whether one sheet, the only kind there is, would be all but full of all the parts."""
    piece = model.stock[0]
    waste = piece.length * piece.width - sum(p.demand * p.length * p.width for p in model.parts)
    return len(model.stock) == 1 and 0 <= waste <= Asking().tight * piece.length * piece.width
