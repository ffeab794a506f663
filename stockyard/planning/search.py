"""The anytime search on one model: starts, rounds of ruin and recreate, layouts harvested on the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from stockyard.planning import forest as f
from stockyard.planning import kernel
from stockyard.planning.choose import Figures, figures
from stockyard.planning.forest import Forest
from stockyard.planning.layouts import Reader, plant
from stockyard.planning.model import UNLIMITED, Candidate, Model

MANY = 1 << 60
# Sizes of the record of layouts (numbers) and of its hash table.
RECORD, KNOWN = 1 << 18, 1 << 16
# A part left out weighs this much more than the area it covers, so that completing pays.
COMPLETING = 4.0
# One priority outweighs all parts of the next lower one.
NEXT_PRIORITY = 1e3
NOTHING = 1e300


class Stage(Enum):
    """What a run is after: all parts within a budget, or the least net material within it."""

    PLACE = "place"
    NET = "net"


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


class Search:
    """One searcher: a forest, its random numbers, and the best it has met at each stage."""

    def __init__(self, model: Model, seed: int) -> None:
        self.model = model
        self.reader = Reader(model)
        self.forest = _forest(model, seed)
        self._least = min((min(p.length, p.width) for p in model.parts), default=1)
        self._area = max(s.length * s.width for s in model.stock)
        self._blank = self.forest.rows.copy()
        ranks = sorted({p.priority for p in model.parts})
        for t, p in enumerate(model.parts):
            self.forest.parts[t, 2] = ranks.index(p.priority)

    def set_rules(self, stage: Stage, *, budget: int, short: bool = False, **settings: float) -> None:
        """Set what the next run is after. `short`: stock cannot hold all parts, so priority counts."""
        s, model = self.forest, self.model
        worth = model.problem.worth
        rules = {
            f.BUDGET: budget, f.SCALE: 1.0 / self._area, f.ROOM_WEIGHT: 0.01, f.WORTH_WEIGHT: 0.0,
            f.KERF: model.problem.kerf, f.KEEP_SIDE: worth.keep_short_side, f.KEEP_AREA: worth.keep_area,
            f.WHOLE_AREA: worth.whole_area, f.FLOOR: worth.floor / 1000, f.LEAST_SIDE: self._least,
            f.POWER: 0, f.ORDER: kernel.NOISY, f.BLINK: 0.01, f.REFUND: 0.9, f.REMOVED: 6, f.WHOLE: 0.05,
            f.HISTORY: 20, f.GOAL: 1, f.KEEN: 0, f.FILLED: 1.0, f.BY_RANK: 1e20 if short else 0.0,
        }  # fmt: skip
        if stage is Stage.NET:
            rules |= {f.WORTH_WEIGHT: 1.0, f.GOAL: 0, f.KEEN: 1}
        for name, setting in (rules | {getattr(f, k.upper()): v for k, v in settings.items()}).items():
            s.rules[name] = setting
        for t, p in enumerate(model.parts):
            area = p.length * p.width / self._area
            s.penalty[t] = area if stage is Stage.PLACE else COMPLETING * (0.1 + area)
            if short:
                s.penalty[t] = COMPLETING * (1.0 + 0.01 * area) * NEXT_PRIORITY ** float(s.parts[t, 2])
        for j, piece in enumerate(model.stock):
            s.cost[j] = piece.area / self._area * (1.0 if stage is Stage.NET else 0.01)
            s.cost[j] += 1e-6 * piece.dig

    def load(self, layouts: Sequence[Candidate]) -> None:
        """Make `layouts` the state."""
        s = self.forest
        s.rows[:] = self._blank
        s.sums[:] = 0.0
        s.sums[f.MISSING] = sum(float(s.penalty[t]) * p.demand for t, p in enumerate(self.model.parts))
        s.ints[f.MONEY] = 0
        s.ints[f.OUT] = sum(p.demand for p in self.model.parts)
        f.begin(s)
        s.stamp[:] = s.ints[f.STAMP]
        plant(s, self.model, layouts)
        s.stamp[:] = 0
        self.settle()

    def settle(self) -> None:
        """Take the state as it is for the start of a run."""
        s = self.forest
        s.history[:] = kernel.value(s)
        s.best_value[0] = NOTHING
        kernel.keep_best(s, kernel.value(s))

    def construct(self) -> None:
        """Put in whatever still fits, without undo."""
        blink, self.forest.rules[f.BLINK] = self.forest.rules[f.BLINK], 0.0
        f.begin(self.forest)
        kernel.recreate(self.forest)
        self.forest.rules[f.BLINK] = blink
        self.settle()

    def lower_money(self) -> None:
        """Empty pieces until the budget is kept."""
        f.begin(self.forest)
        kernel.lower_money(self.forest)
        self.settle()

    def run(self, steps: int) -> int:
        """Take up to `steps` steps; return how many were taken."""
        return int(kernel.search(self.forest, steps))

    def answer(self) -> Answer:
        """Return the state with its figures."""
        return judge(self.model, self.reader.state(self.forest))

    def best_answer(self) -> Answer:
        """Return the best state of the run with its figures."""
        s = self.forest
        return judge(self.model, self.reader.state(s._replace(rows=s.best)))


def _forest(model: Model, seed: int) -> Forest:
    n_parts, n_stock = len(model.parts), len(model.stock)
    demand = sum(p.demand for p in model.parts)
    n_rows = 1 + n_parts + n_stock + 8 * demand + 64
    rows = np.zeros((n_rows, f.FIELDS), np.int64)
    rows[0, f.TAG] = 1 + n_parts + n_stock
    for t, p in enumerate(model.parts):
        rows[1 + t, f.COUNT] = p.demand
    for j, piece in enumerate(model.stock):
        rows[1 + n_parts + j, f.COUNT] = MANY if piece.count == UNLIMITED else piece.count
    ints = np.zeros(f.REGISTERS, np.int64)
    ints[f.SEED_A] = 1 + (seed * 7919 + 104729) % 2147483561
    ints[f.SEED_B] = 1 + (seed * 15485863 + 32452843) % 2147483397
    forest = Forest(
        rows=rows,
        saved=np.zeros((n_rows, f.FIELDS + 1), np.int64),
        stamp=np.zeros(n_rows, np.int64),
        ints=ints,
        sums=np.zeros(4),
        sums_saved=np.zeros(4),
        rules=np.zeros(f.SETTINGS),
        parts=np.array([(p.length, p.width, 0) for p in model.parts], np.int64),
        lies=np.array([p.lies for p in model.parts], np.int64),
        penalty=np.zeros(n_parts),
        stock=np.array([(s.length, s.width, s.money) for s in model.stock], np.int64),
        cost=np.zeros(n_stock),
        history=np.zeros(1000),
        best=np.zeros((n_rows, f.FIELDS), np.int64),
        best_value=np.zeros(1),
        order=np.zeros(n_parts, np.int64),
        keys=np.zeros(n_parts),
        opened=np.zeros(n_rows, np.int64),
        layouts=np.zeros(RECORD, np.int64),
        seen=np.zeros(KNOWN, np.int64),
    )
    for _ in range(20):
        kernel.draw(forest, 2)
    return forest
