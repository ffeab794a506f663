"""A few pieces of a routed plan taken apart and laid anew together, for less money or net material.

Large neighbourhood search (Shaw 1998); the pieces are laid by the search on freely placed parts, which finds
in a few hundred steps on three pieces what it does not in many thousands on sixty.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from random import Random

from stockyard.planning.choosing.answer import Answer
from stockyard.planning.hunting.remainder import rest_of
from stockyard.planning.model import Candidate, Model
from stockyard.planning.placing.placer import Placer
from stockyard.planning.placing.spots import candidate, spots

MANY = 1 << 40


@dataclass(frozen=True, slots=True)
class Remaking:
    """How it is done."""

    fewest: int = 2
    """Pieces taken apart at least."""
    most: int = 5
    """The same at most."""
    work: int = 12_000
    """Steps of one search times the parts it has, so that it takes some hundredths of a second."""
    spare: int = 3
    """Pieces under way at once beside those that were taken apart."""
    weak: float = 0.5
    """How often those with the most waste are taken, rather than any."""


@dataclass(frozen=True, slots=True)
class Made:
    """A plan in which some pieces are made anew, and every layout met on the way."""

    layouts: tuple[Candidate, ...] | None
    met: tuple[Candidate, ...]


class Remake:
    """Takes pieces of the best plan apart, others each time."""

    def __init__(self, model: Model, seed: int, manner: Remaking | None = None) -> None:
        self._model, self._manner, self._luck = model, manner or Remaking(), Random(seed)

    def round(
        self, team: ThreadPoolExecutor, hands: int, best: Answer, rules: Sequence[dict[str, float]], *,
        by_net: bool,
    ) -> list[Made]:  # fmt: skip
        """Let `hands` threads each make some pieces anew; `by_net`: for less net material, not money."""
        tasks = [self._task(best, by_net=by_net) for _ in range(hands)]
        manners = [self._luck.choice(rules) for _ in range(hands)]
        jobs = [
            team.submit(self._make, *task, manner, by_net=by_net)
            for task, manner in zip(tasks, manners, strict=True)
        ]
        return [job.result() for job in jobs]

    def _task(self, best: Answer, *, by_net: bool) -> tuple[list[Candidate], list[Candidate], int]:
        """Return the layouts that stay, those that are taken apart, and a seed."""
        manner, luck = self._manner, self._luck
        layouts = list(best.layouts)
        luck.shuffle(layouts)
        if luck.random() < manner.weak:
            layouts.sort(key=lambda c: self._filled(c) + 0.3 * luck.random())
        if not by_net:  # a piece that costs nothing can not be saved
            layouts.sort(key=lambda c: c.money == 0)
            paid = [c for c in layouts if c.money]
            first = paid[: luck.randint(1, min(len(paid), manner.most))]
            free = layouts[len(paid) :]
            luck.shuffle(free)
            gone = first + free[: luck.randint(0, manner.most)]
        else:
            gone = layouts[: luck.randint(manner.fewest, manner.most)]
        taken = {id(c) for c in gone}
        return [c for c in best.layouts if id(c) not in taken], gone, luck.randrange(MANY)

    def _filled(self, c: Candidate) -> float:
        piece, parts = self._model.stock[c.stock], self._model.parts
        return sum(n * parts[k].length * parts[k].width for k, n in c.gives) / (piece.length * piece.width)

    def _make(
        self, kept: list[Candidate], gone: list[Candidate], seed: int, manner: dict[str, float], *,
        by_net: bool,
    ) -> Made:  # fmt: skip
        rest = rest_of(self._model, kept)
        if rest is None:
            return Made(None, ())
        demand = sum(p.demand for p in rest.parts)
        money = sum(c.money for c in gone) - (0 if by_net else self._model.money_step)
        placer = Placer(rest, seed, len(gone) + self._manner.spare, demand)
        placer.set_rules(budget=money, net=by_net, short=False, **manner)
        placer.load([self._again(rest, c) for c in gone], money)
        placer.run(max(50, self._manner.work // demand))
        met = tuple(self._again(self._model, c) for c in placer.recorded())
        if placer.left_out:
            return Made(None, met)
        return Made((*kept, *(self._again(self._model, c) for c in placer.answer())), met)

    @staticmethod
    def _again(model: Model, c: Candidate) -> Candidate:
        """Return a layout as one of another model of the same problem."""
        return candidate(model, c.stock, spots(model.problem, c.pattern))
