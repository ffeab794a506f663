"""One searcher on freely placed parts: arrays from a model and layouts, rounds of steps, layouts back."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

import numpy as np

from stockyard.planning.model import AS_WRITTEN, TURNED, Candidate, Model
from stockyard.planning.placing import kernel as k
from stockyard.planning.placing.room import Floats, Ints
from stockyard.planning.placing.spots import candidate, keep_of, rooms_of, spots
from stockyard.planning.placing.steps import FIGURES, HEAD, copy_all, cost_of, recreate, search
from stockyard.planning.tree import Spot

assert (k.AS_WRITTEN, k.TURNED) == (AS_WRITTEN, TURNED)
# Rectangles of one piece's room: so many and so many more for each part, but no more than this.
ROOMS, ROOMS_EACH, MOST_ROOMS = 24, 4, 320
LONGEST_HISTORY = 2000
SEEN, RECORDED = 1 << 18, 1 << 20
# What a part left out counts beside its area where not all can be placed: this for each.
HEAVY = 1e16


class Placer:
    """Holds one state. `manner` sets the rules of the search by name: see kernel.py."""

    def __init__(self, model: Model, seed: int, most_open: int, most_on_one: int) -> None:
        """`most_open`: pieces under way at once; `most_on_one`: parts on one of them."""
        self.model = model
        self._ground = _ground(model, seed)
        copies = len(self._ground.kind)
        self._most = min(most_on_one, copies)
        shape = (most_open, self._most, len(self._ground.net), copies)
        self._state, self._old, self._top = (_state(*shape) for _ in range(3))
        self._state.regs[k.SEED_A], self._state.regs[k.SEED_B] = 1 + 2 * seed, 12345 + seed
        for _ in range(10):
            k.draw(self._state.regs, 2)
        self._seen, self._rec = np.zeros(SEEN, np.int64), np.zeros(RECORDED, np.int64)
        self.rules = np.zeros(k.RULES)
        self._miss = np.zeros(len(model.parts))
        self._usual = 0.0  # of what a part left out counts, the mean

    def set_rules(self, *, budget: int, net: bool, short: bool, **manner: float) -> None:
        """Set what is sought: all parts within `budget`, and with `net` for least net material.

        `short`: not all parts can be placed, so that those of higher priority go first.
        """
        rules = self.rules
        rules[:] = 0.0
        rules[k.BUDGET], rules[k.NET] = float(budget), float(net)
        rules[k.MISSING], rules[k.ROOM] = (20.0 if net else 1.0), (0.0 if net else 0.02)
        rules[k.REMOVED], rules[k.HISTORY], rules[k.WHOLE] = 4.0, 300.0, 0.2
        rules[k.ORDER], rules[k.FILLED] = k.NOISY, 0.6
        for name, value in manner.items():
            rules[getattr(k, name.upper())] = value
        levels = sorted({p.priority for p in self.model.parts})
        for n, p in enumerate(self.model.parts):
            self._miss[n] = float(p.length) * float(p.width)
            if short:
                self._miss[n] += HEAVY * 1000.0 ** levels.index(p.priority)
        self._usual = float(self._miss.mean())

    def price(self, worth: Floats) -> None:
        """Let each part left out count what one of it is worth (ticks²), instead of its area."""
        self._miss[:] = worth

    def favour(self, factor: float) -> None:
        """Let parts of the kinds that are out count so many times as much, and go on from here."""
        out = self._state.out[: self._state.regs[k.OUT]]
        self._miss[np.unique(self._ground.kind[out])] *= factor
        self._miss /= self._miss.mean() / self._usual
        self._begin()

    @property
    def cost(self) -> float:
        """What the best state comes to by the rules."""
        return float(self._top.past[0])

    def load(self, layouts: Iterable[Candidate], budget: int | None = None) -> None:
        """Begin from these layouts; those that would pass `budget` are left out, the least filled first."""
        g, s = self._ground, self._state
        _empty(s)
        waiting: dict[int, list[int]] = {}
        for copy, kind in enumerate(g.kind.tolist()):
            waiting.setdefault(kind, []).append(copy)
        part_of_row = {p.row: n for n, p in enumerate(self.model.parts)}
        for p, c in enumerate(self._within(layouts, budget)[: len(s.stock)]):
            k.start(g, s, p, c.stock)
            for spot in spots(self.model.problem, c.pattern):
                kind = part_of_row[spot.part] if spot.part is not None else -1
                if waiting.get(kind) and s.n[p] < self._most:
                    gap = self.model.problem.kerf
                    copy = waiting[kind].pop()
                    k.lay(s, p, copy, spot.x, spot.y, spot.length + gap, spot.width + gap)
            if s.n[p]:
                k.weigh(g, s, p)
            else:
                k.close(g, s, p)
        out = [copy for copies in waiting.values() for copy in copies]
        s.out[: len(out)] = out
        s.regs[k.OUT] = len(out)
        self._begin()

    def _within(self, layouts: Iterable[Candidate], budget: int | None) -> list[Candidate]:
        """Return the layouts that the budget allows, the best filled kept."""
        stock, parts = self.model.stock, self.model.parts

        def filled(c: Candidate) -> float:
            s = stock[c.stock]
            return sum(n * parts[i].length * parts[i].width for i, n in c.gives) / (s.length * s.width)

        kept, money = [], 0
        for c in sorted(layouts, key=filled, reverse=True):
            if budget is None or money + c.money <= budget:
                kept.append(c)
                money += c.money
        return kept

    def _begin(self) -> None:
        s = self._state
        cost = cost_of(self._ground, s, self._miss, self.rules)
        s.past[:] = cost
        s.regs[k.RECORD] = 0
        copy_all(s, self._top)
        self._top.past[0] = cost

    def construct(self, order: int) -> None:
        """Put all parts that are out in, in one order."""
        self.rules[k.ORDER] = order
        self._state.regs[k.STEP] = 0
        self._state.regs[k.TOUCHED] = 0
        recreate(self._ground, self._state, self._old, self._miss, self.rules)
        self._state.dirty[:] = 0
        self._begin()

    def run(self, steps: int) -> None:
        """Search for so many steps, or until all parts are placed where that is all that is sought."""
        g, s = self._ground, self._state
        s.regs[k.RECORD] = 0
        search(g, s, self._old, self._top, self._miss, self.rules, self._seen, self._rec, steps)

    @property
    def left_out(self) -> int:
        """How many parts the best state leaves out."""
        return int(self._top.regs[k.OUT])

    def answer(self) -> list[Candidate]:
        """Return the layouts of the best state."""
        g, s, found = self._ground, self._top, []
        for p in range(len(s.stock)):
            if s.stock[p] != k.CLOSED:
                rows = [
                    (int(g.kind[s.copy[p, i]]), *(int(v) for v in s.box[p, i])) for i in range(int(s.n[p]))
                ]
                laid = [(n, x, y, x1 - x, y1 - y) for n, x, y, x1, y1 in rows]
                found.append(self._candidate(int(s.stock[p]), laid, int(s.worth[p, 0])))
        return found

    def recorded(self, wanted: Callable[[int, Ints, int], bool] | None = None) -> list[Candidate]:
        """Return the layouts met in the last round; `wanted` is told row, kinds and net of each before."""
        rec, end, at, found = self._rec, int(self._state.regs[k.RECORD]), 0, []
        while at < end:
            stock, n, net = (int(v) for v in rec[at : at + HEAD])
            at += HEAD
            laid = rec[at : at + FIGURES * n].reshape(n, FIGURES)
            at += FIGURES * n
            if wanted is None or wanted(stock, laid[:, 0], net):
                found.append(self._candidate(stock, laid.tolist(), net))
        return found

    def _candidate(self, stock: int, laid: Sequence[Sequence[int]], net: int) -> Candidate:
        gap, parts = self.model.problem.kerf, self.model.parts
        placed = [Spot(dx - gap, dy - gap, parts[n].row, x=x, y=y) for n, x, y, dx, dy in laid]
        return candidate(self.model, stock, placed, net)


def _ground(model: Model, seed: int) -> k.Ground:
    parts, stock = model.parts, model.stock
    rng = np.random.default_rng(seed)
    begins = []
    room, fresh = np.zeros((MOST_ROOMS, 4), np.int64), np.zeros((MOST_ROOMS, 4), np.int64)
    for j in range(len(stock)):
        begins.append(room[: rooms_of(model, j, room, fresh)].copy())
    begin = np.zeros((len(stock), max(len(b) for b in begins), 4), np.int64)
    for j, b in enumerate(begins):
        begin[j, : len(b)] = b
    return k.Ground(
        size=np.array([(p.length, p.width) for p in parts], np.int64),
        lies=np.array([p.lies for p in parts], np.int64),
        kind=np.repeat(np.arange(len(parts)), [p.demand for p in parts]).astype(np.int64),
        stock=np.array([(s.count, s.money) for s in stock], np.int64),
        net=np.array([float(s.area) for s in stock]),
        area=np.array([float(s.length) * float(s.width) for s in stock]),
        begin=begin,
        begin_n=np.array([len(b) for b in begins], np.int64),
        mark=rng.integers(1, 1 << 61, len(parts)),
        keep=keep_of(model.problem),
    )


def _state(most_open: int, most_on_one: int, rows: int, copies: int) -> k.State:
    def whole(*shape: int) -> Ints:
        return np.zeros(shape, np.int64)

    rooms = min(MOST_ROOMS, ROOMS + ROOMS_EACH * most_on_one)
    floats: Floats = np.zeros((most_open, 3))
    return k.State(
        regs=whole(16), stock=np.full(most_open, k.CLOSED, np.int64), n=whole(most_open),
        copy=whole(most_open, most_on_one), box=whole(most_open, most_on_one, 4),
        free=whole(most_open, rooms, 4), free_n=whole(most_open), worth=floats, used=whole(rows),
        out=whole(copies), rank=np.zeros(copies), fresh=whole(4 * rooms, 4), touched=whole(most_open),
        dirty=whole(most_open), past=np.zeros(LONGEST_HISTORY + 1),
    )  # fmt: skip


def _empty(s: k.State) -> None:
    """Forget all that is under way."""
    s.stock[:] = k.CLOSED
    for a in (s.n, s.free_n, s.used, s.dirty, s.worth):
        a[:] = 0
    s.regs[k.OUT] = s.regs[k.MONEY] = s.regs[k.TOUCHED] = 0
