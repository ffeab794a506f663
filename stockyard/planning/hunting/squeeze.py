"""A large plan with a piece less: the parts of that piece find their place in the waste of the others.

A few layouts at a time are rebuilt together with some of the parts left out, by ruin and recreate that is
after less left out and no more money (goal-driven; the decomposition is large neighbourhood search, Shaw
1998). What is left out never grows, so that waste gathers until nothing is left out.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from random import Random

from stockyard.planning.hunting.rebuilder import Rebuilder, Stage
from stockyard.planning.hunting.searcher import MANNERS
from stockyard.planning.model import UNLIMITED, Candidate, Model, has_flaws
from stockyard.planning.tables.pricing import weighed

SEEDS = 1 << 30


@dataclass(frozen=True, slots=True)
class Squeezing:
    """How it is done; layouts of pieces with flaws stay."""

    layouts: int = 8
    """Layouts rebuilt together."""
    steps: int = 1000
    """Steps between two questions whether to stop."""
    looks: int = 12
    """So many times that for one rebuilding."""
    shuffled: float = 0.3
    """How far chance counts beside how little a layout is filled when some are taken."""


@dataclass(slots=True)
class _Share:
    """Some layouts and parts left out, to be rebuilt by one hand."""

    layouts: list[Candidate]
    out: Counter[int]


class Squeeze:
    """Plans of one model for ever less money, round by round."""

    def __init__(
        self, model: Model, seed: int, stop: Callable[[], bool], manner: Squeezing | None = None
    ) -> None:
        """`stop` is asked between some steps."""
        self.model, self._random, self._stop = model, Random(seed), stop
        self._manner = manner or Squeezing()
        self._row = {p.row: k for k, p in enumerate(model.parts)}
        self._stock = {s.row: j for j, s in enumerate(model.stock)}
        self._areas = [p.length * p.width for p in model.parts]
        self._begun: Sequence[Candidate] = ()
        self._kept: list[Candidate] = []
        self.out: Counter[int] = Counter()
        """The parts left out now."""

    def _begin(self, best: Sequence[Candidate]) -> bool:
        """Take out the piece for money whose parts are least; return whether there is one."""
        if best is self._begun and self._kept:
            return True
        paid = [n for n, c in enumerate(best) if c.money and not has_flaws(self.model, c.stock)]
        if len(paid) < 2:
            return False
        least = min(paid, key=lambda n: self._area(dict(best[n].gives)) / best[n].money)
        self._begun, self._kept = best, [*best[:least], *best[least + 1 :]]
        self.out = Counter(dict(best[least].gives))
        return True

    def round(self, team: ThreadPoolExecutor, hands: int, best: Sequence[Candidate]) -> list[Candidate]:
        """Rebuild some layouts for each hand; return a plan for less money once there is one."""
        if not self._begin(best):
            return []
        shares = self._shared(hands)
        numbers = [self._random.randrange(SEEDS) for _ in shares]
        rebuilt = list(team.map(self._rebuilt, shares, numbers))
        taken = {id(c) for share in shares for c in share.layouts}
        self._kept = [c for c in self._kept if id(c) not in taken]
        self.out = Counter()
        for share in rebuilt:
            self._kept += share.layouts
            self.out += share.out
        if self.out:
            return []
        before = {id(c) for c in self._begun}
        plan = [c if id(c) in before else weighed(self.model, c.stock, c.pattern.root) for c in self._kept]
        self._kept = []
        return plan

    def _shared(self, hands: int) -> list[_Share]:
        """Return layouts for each hand, rather those little filled, and the parts left out among them."""
        manner, random = self._manner, self._random
        clear = [c for c in self._kept if not has_flaws(self.model, c.stock)]
        fills = [self._filled(c) + manner.shuffled * random.random() for c in clear]
        order = sorted(range(len(fills)), key=fills.__getitem__)
        hands = max(1, min(hands, len(order) // manner.layouts))
        shares = [
            _Share([clear[n] for n in order[h::hands][: manner.layouts]], Counter()) for h in range(hands)
        ]
        for n, k in enumerate(sorted(self.out.elements(), key=lambda k: -self._areas[k])):
            shares[n % hands].out[k] += 1
        return shares

    def _filled(self, c: Candidate) -> float:
        piece = self.model.stock[c.stock]
        return self._area(dict(c.gives)) / (piece.length * piece.width)

    def _area(self, parts: dict[int, int] | Counter[int]) -> int:
        return sum(n * self._areas[k] for k, n in parts.items())

    def _rebuilt(self, share: _Share, seed: int) -> _Share:
        """Return a share rebuilt, with no more left out than before."""
        wanted = Counter(share.out)
        for c in share.layouts:
            wanted.update(dict(c.gives))
        some = _part_of(self.model, wanted, Counter(c.stock for c in share.layouts))
        rebuilder = Rebuilder(some, seed)
        rebuilder.set_rules(
            Stage.PLACE,
            budget=sum(c.money for c in share.layouts),
            manner=MANNERS.placing[seed % len(MANNERS.placing)],
        )
        rebuilder.load(share.layouts)
        rebuilder.construct()
        for _ in range(self._manner.looks):
            if self._stop() or not rebuilder.left_out:
                break
            rebuilder.run(self._manner.steps)
        found = rebuilder.answer() if not rebuilder.left_out else rebuilder.best_answer()
        return self._told(share, wanted, found.layouts)

    def _told(self, share: _Share, wanted: Counter[int], layouts: Iterable[Candidate]) -> _Share:
        """Return layouts of a smaller model in the terms of the whole, or the share as it was if better."""
        made = []
        for c in layouts:
            gives = sorted((self._row[row], n) for row, n in c.pattern.parts().items())
            made.append(replace(c, stock=self._stock[c.pattern.stock], gives=tuple(gives)))
        out = Counter(wanted)
        for c in made:
            out.subtract(dict(c.gives))
        out = +out
        return share if self._area(out) > self._area(share.out) else _Share(made, out)


def _part_of(model: Model, wanted: Counter[int], pieces: Counter[int]) -> Model:
    """Return the model of these parts and of the stock rows of these pieces."""
    parts = tuple(replace(p, demand=wanted[k]) for k, p in enumerate(model.parts) if wanted[k])
    stock = tuple(
        s if s.count == UNLIMITED else replace(s, count=pieces[j]) for j, s in enumerate(model.stock)
    )
    return replace(model, parts=parts, stock=stock)
