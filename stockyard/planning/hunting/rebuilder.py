"""Ruin and recreate on one model: starts, rounds of steps, layouts harvested on the way."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from stockyard.planning.choosing.answer import Answer, judge
from stockyard.planning.choosing.pool import Prices
from stockyard.planning.model import UNLIMITED, Candidate, Model
from stockyard.planning.recreate import forest as f
from stockyard.planning.recreate import kernel
from stockyard.planning.recreate.forest import Forest
from stockyard.planning.recreate.layouts import Reader, plant

MANY = 1 << 60
NO_GATE = 1e300


@dataclass(frozen=True, slots=True)
class Weighing:
    """What parts and pieces weigh for one another while a plan is rebuilt, and how far is looked."""

    completing: float = 4.0
    """A part left out weighs this much more than the area it covers, so that completing pays."""
    cheap: float = 0.02
    """What a piece costs while parts are to be placed at all: far less than the parts."""
    next_priority: float = 1e3
    """One priority outweighs so many times all parts of the next lower one,"""
    most_spread: float = 1e12
    """the highest no more than sums can tell apart."""
    worthless: float = 1e-9
    """Parts worth less than this are not looked at when one layout is improved."""
    look: int = 200
    """A part is tried on this many open pieces, so that a job of very many parts stays quick."""
    start_work: int = 10_000_000
    """Parts times open pieces that a start may look at beyond that."""
    record: int = 1 << 14
    """Numbers that the record of layouts holds,"""
    known: int = 1 << 17
    """and places of its hash table."""


WEIGHING = Weighing()
# How one layout is improved: few parts at a time, the dear ones first, on this piece only.
ALONE: Mapping[str, float] = {
    "order": kernel.DEAR_FIRST, "whole": 0, "removed": 3, "history": 30, "room_weight": 0.0, "goal": 0,
    "keen": 0, "look": 2, "stretch": 0, "blink": 0.02, "filled": 0.0, "most_open": 1,
}  # fmt: skip


class Stage(Enum):
    """What a run is after: all parts within a budget, or the least net material within it."""

    PLACE = "place"
    NET = "net"


class Rebuilder:
    """A forest that is rebuilt step by step, its random numbers, and the best state it has met."""

    def __init__(self, model: Model, seed: int) -> None:
        self.model = model
        self.reader = Reader(model)
        self.forest = _forest(model, seed)
        self._least = min(min(p.length, p.width) for p in model.parts)
        self._area = max(s.length * s.width for s in model.stock)
        self._blank = self.forest.rows.copy()

    def set_rules(
        self,
        stage: Stage,
        *,
        budget: int,
        short: bool = False,
        filled: float = 1.0,
        manner: Mapping[str, float] | None = None,
    ) -> None:
        """Set what the next run is after. `short`: stock cannot hold all parts, so priority counts.

        `filled`: least filled share of a layout to record. `manner`: other settings by name.
        """
        nums, model, weighing = self.forest.nums, self.model, WEIGHING
        worth = model.problem.worth
        rules: dict[int, float] = {
            f.BUDGET: budget, f.SCALE: 1.0 / self._area, f.ROOM_WEIGHT: 0.01, f.WORTH_WEIGHT: 0.0,
            f.KERF: model.problem.kerf, f.KEEP_SIDE: worth.keep_short_side,
            f.KEEP_LONG: worth.keep_long_side, f.KEEP_AREA: worth.keep_area,
            f.WHOLE_AREA: worth.whole_area, f.FLOOR: worth.floor / 1000, f.LEAST_SIDE: self._least,
            f.POWER: 0, f.ORDER: kernel.NOISY, f.BLINK: 0.01, f.REFUND: 0.9, f.REMOVED: 6, f.WHOLE: 0.05,
            f.HISTORY: 20, f.GOAL: 1, f.KEEN: 0, f.FILLED: filled, f.STRETCH: 1, f.LOOK: WEIGHING.look,
            f.BY_RANK: 1e20 if short else 0.0, f.GATE: NO_GATE, f.MOST_OPEN: NO_GATE,
        }  # fmt: skip
        if stage is Stage.NET:
            rules |= {f.WORTH_WEIGHT: 1.0, f.GOAL: 0, f.KEEN: 1, f.REFUND: 0.5}
        rules |= {getattr(f, name.upper()): value for name, value in (manner or {}).items()}
        for name, setting in rules.items():
            nums[name] = setting
        levels = len({p.priority for p in model.parts})
        step = min(weighing.next_priority, weighing.most_spread ** (1 / max(1, levels - 1)))
        for t, p in enumerate(model.parts, f.FIRST_PART):
            area = p.length * p.width / self._area
            nums[f.PRICE + t] = area if stage is Stage.PLACE else weighing.completing * (0.1 + area)
            if short:
                rank = float(self.forest.rows[t, f.TAG])
                nums[f.PRICE + t] = weighing.completing * (1.0 + 0.01 * area) * step**rank
        dearest = max(s.money for s in model.stock) or 1
        for j, piece in enumerate(model.stock, f.FIRST_PART + len(model.parts)):
            bought = piece.money / dearest if piece.to_buy else 0.0
            if stage is Stage.NET:
                price = piece.area / self._area + bought
            else:
                share = piece.length * piece.width / self._area
                price = weighing.cheap * (piece.money / dearest + 0.1 * bought + 0.3 * share)
            nums[f.PRICE + j] = price + 1e-6 * piece.dig

    def load(self, layouts: Sequence[Candidate]) -> None:
        """Make `layouts` the state."""
        s = self.forest
        s.rows[0] = self._blank[0]
        s.rows[2:] = self._blank[2:]
        s.nums[: f.SUMS] = 0.0
        s.nums[f.MISSING] = sum(
            float(s.nums[f.PRICE + t]) * p.demand for t, p in enumerate(self.model.parts, f.FIRST_PART)
        )
        f.begin(s.rows, s.nums)
        plant(s, self.model, layouts)
        self._settle()

    def _settle(self) -> None:
        """Take the state as it is for the start of a run."""
        s = self.forest
        s.history[:] = f.value(s.nums)
        kernel.keep_best(s.rows, s.nums, s.best)

    def construct(self) -> None:
        """Put in whatever still fits, without undo."""
        s = self.forest
        before = s.nums[f.BLINK], s.nums[f.LOOK]
        s.nums[f.BLINK] = 0.0
        s.nums[f.LOOK] = max(WEIGHING.look, WEIGHING.start_work // max(1, self.left_out))
        f.begin(s.rows, s.nums)
        kernel.recreate(s.rows, s.undo, s.nums, s.lies, s.order, s.keys)
        s.nums[f.BLINK], s.nums[f.LOOK] = before
        self._settle()

    def lower_money(self) -> None:
        """Empty pieces until the budget is kept."""
        s = self.forest
        f.begin(s.rows, s.nums)
        kernel.lower_money(s.rows, s.undo, s.nums)
        self._settle()

    def run(self, steps: int) -> int:
        """Take up to `steps` steps; return how many were taken."""
        s = self.forest
        scratch = s.order, s.keys, s.opened
        return int(
            kernel.search(
                s.rows, s.undo, s.nums, s.lies, s.history, s.best, *scratch, s.layouts, s.seen, steps
            )
        )

    def improve(self, layout: Candidate, prices: Prices, spare: float, steps: int) -> list[Candidate]:
        """Return what `steps` steps make of one layout, alone on its piece, when parts are worth `prices`.

        All layouts met are given that are worth at most `spare` less than this one.
        """
        s, first = self.forest, f.FIRST_PART
        self.set_rules(Stage.NET if prices.area else Stage.PLACE, budget=MANY, manner=ALONE)
        end = first + len(self.model.parts)
        unit = prices.area / self._area if prices.area else 1.0
        s.nums[f.PRICE + first : f.PRICE + end] = [y * unit for y in prices.parts]
        s.nums[f.PRICE + end : f.PRICE + end + len(self.model.stock)] = 0.0
        self.load([layout])
        s.rows[end : end + len(self.model.stock), f.COUNT] = 0
        for t, (part, worth) in enumerate(zip(self.model.parts, prices.parts, strict=True), first):
            if worth <= WEIGHING.worthless or not part.lies[layout.stock]:
                s.rows[t, f.COUNT] = 0
        self._settle()
        s.nums[f.GATE] = f.value(s.nums) + spare * unit
        self.run(steps)
        return self.recorded()

    @property
    def left_out(self) -> int:
        """How many parts the state leaves out."""
        return int(self.forest.rows[f.HEADER, f.OUT])

    def recorded(self) -> list[Candidate]:
        """Return the layouts recorded since the last call."""
        return self.reader.record(self.forest)

    def answer(self) -> Answer:
        """Return the state with its figures."""
        return judge(self.model, self.reader.state(self.forest.rows))

    def best_answer(self) -> Answer:
        """Return the best state of the run with its figures."""
        return judge(self.model, self.reader.state(self.forest.best))


def _forest(model: Model, seed: int) -> Forest:
    n_parts, n_stock = len(model.parts), len(model.stock)
    demand = sum(p.demand for p in model.parts)
    first_stock = f.FIRST_PART + n_parts
    first_node = first_stock + n_stock
    n_rows = first_node + 6 * demand + 256
    rows = np.zeros((n_rows, f.FIELDS), np.int64)
    rows[f.HEADER, f.TAG] = first_node
    rows[f.HEADER, f.OUT] = demand
    ranks = sorted({p.priority for p in model.parts})
    for t, p in enumerate(model.parts, f.FIRST_PART):
        rows[t, [f.LENGTH, f.WIDTH, f.COUNT, f.TAG]] = p.length, p.width, p.demand, ranks.index(p.priority)
    for j, s in enumerate(model.stock, first_stock):
        count = MANY if s.count == UNLIMITED else s.count
        rows[j, [f.LENGTH, f.WIDTH, f.COUNT, f.TAG]] = s.length, s.width, count, s.money
    registers = rows[f.REGISTERS]
    registers[f.PARTS], registers[f.STOCKS] = n_parts, n_stock
    f.begin_luck(registers, seed)
    for _ in range(20):
        f.draw(rows, 2)
    return Forest(
        rows=rows,
        undo=np.zeros((n_rows, f.FIELDS), np.int64),
        nums=np.zeros(f.PRICE + first_node),
        lies=np.array([p.lies for p in model.parts], np.int64),
        history=np.zeros(1000),
        best=np.zeros((n_rows, f.FIELDS), np.int64),
        order=np.zeros(n_parts, np.int64),
        keys=np.zeros(n_parts),
        opened=np.zeros(n_rows, np.int64),
        layouts=np.zeros(WEIGHING.record, np.int64),
        seen=np.zeros(WEIGHING.known, np.int64),
    )
