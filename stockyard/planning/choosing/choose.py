"""Which layouts to cut: CP-SAT chooses from a pool under the ordered aim, level by level.

A set covering model (Monaci and Toth 2006): every part covered, no stock row used beyond its count.
Each round minimises one level of the aim and freezes it for the next. A part covered once too often
is taken out again and its place becomes leftover.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import gcd
from time import monotonic
from typing import TYPE_CHECKING, NamedTuple

from stockyard.planning.model import Candidate, Model
from stockyard.planning.placing.spots import is_free
from stockyard.planning.placing.spots import without as lighter
from stockyard.planning.solvers import constraint_solver
from stockyard.planning.tables.pricing import weighed
from stockyard.planning.tree import Node

if TYPE_CHECKING:
    from ortools.sat.python.cp_model import CpModel, IntVar, LinearExprT

# Levels are scaled so that no sum in the model passes this.
TOP = 1 << 46
# Deterministic seconds of CP-SAT for each second on the clock (measured on set covering models).
WORK_PER_SECOND = 1.0
# Share of the work left that one level may take.
SHARE = 0.7


class Figures(NamedTuple):
    """A choice at levels 1 to 4 of the aim; smaller is better."""

    missing: tuple[int, ...]
    money: int
    bought: int
    net: int
    handling: int


def figures(model: Model, chosen: Iterable[Candidate]) -> Figures:
    """Return what a choice of layouts comes to."""
    placed: Counter[int] = Counter()
    money = bought = net = handling = 0
    for c in chosen:
        placed.update(dict(c.gives))
        piece = model.stock[c.stock]
        money += c.money
        bought += c.money if piece.to_buy else 0
        net += c.net
        handling += 1 + piece.dig
    missing = Counter({p.priority: 0 for p in model.parts})
    for k, p in enumerate(model.parts):
        missing[p.priority] += max(0, p.demand - placed[k])
    levels = sorted(missing, reverse=True)
    return Figures(tuple(missing[p] for p in levels), money, bought, net, handling)


def choose(
    model: Model,
    pool: Sequence[Candidate],
    incumbent: Sequence[Candidate],
    *,
    seconds: float,
    seed: int,
    work: float | None = None,
    least_money: int = 0,
    workers: int = 1,
) -> tuple[Candidate, ...] | None:
    """Return layouts that beat the incumbent, or None when none were found.

    `work` is CP-SAT's deterministic limit for all rounds together: with one worker the same input
    and work give the same answer, as long as `seconds` does not end it first. `least_money` is a proved
    bound; a level that meets it is not searched again. Parts may stay out only where the incumbent
    leaves some out.
    """
    best = figures(model, incumbent)
    rounds = _Rounds(model, _distinct([*incumbent, *pool]), incumbent, seed, workers, any(best.missing))
    deadline = monotonic() + seconds
    work = seconds * WORK_PER_SECOND if work is None else work
    rounds.run(deadline, work, least_money)
    if not rounds.found:
        return None
    chosen = trimmed(model, rounds.taken())
    return chosen if figures(model, chosen) < best else None


def _distinct(pool: Iterable[Candidate]) -> list[Candidate]:
    """Return one layout, the best, for each stock row and set of parts."""
    best: dict[tuple[int, tuple[tuple[int, int], ...]], Candidate] = {}
    for c in pool:
        key = (c.stock, c.gives)
        if c.gives and (key not in best or c.net < best[key].net):
            best[key] = c
    return list(best.values())


@dataclass(slots=True)
class _Level:
    """One level of the aim: weights of the layouts, then of the parts left out; and a proved floor."""

    weights: list[int]
    floor: int = 0


class _Rounds:
    """The CP-SAT model and the choice after each round."""

    def __init__(
        self,
        model: Model,
        pool: list[Candidate],
        incumbent: Sequence[Candidate],
        seed: int,
        workers: int,
        may_miss: bool,
    ) -> None:
        from ortools.sat.python import cp_model

        self.model, self.pool, self.seed, self.workers = model, pool, seed, workers
        self.found = False
        self._cp: CpModel = cp_model.CpModel()
        self._x = [self._cp.new_int_var(0, model.most_times(c), "") for c in pool]
        self._absent = [self._cp.new_int_var(0, p.demand if may_miss else 0, "") for p in model.parts]
        self._constrain()
        index = {(c.stock, c.gives): n for n, c in enumerate(pool)}
        times = Counter(index[c.stock, c.gives] for c in incumbent if c.gives)
        self._values = [times[n] for n in range(len(pool))]
        placed: Counter[int] = Counter()
        for c in incumbent:
            placed.update(dict(c.gives))
        self._values += [max(0, p.demand - placed[k]) for k, p in enumerate(model.parts)]

    def _constrain(self) -> None:
        cover: list[list[LinearExprT]] = [[a] for a in self._absent]
        used: list[list[IntVar]] = [[] for _ in self.model.stock]
        for c, x in zip(self.pool, self._x, strict=True):
            used[c.stock].append(x)
            for k, n in c.gives:
                cover[k].append(n * x)
        for p, terms in zip(self.model.parts, cover, strict=True):
            self._cp.add(sum(terms) >= p.demand)
        for s, xs in zip(self.model.stock, used, strict=True):
            if s.count >= 0 and xs:
                self._cp.add(sum(xs) <= s.count)

    def levels(self, least_money: int) -> list[_Level]:
        """Return the levels of the aim, from the first to decide to the last."""
        parts, stock = self.model.parts, self.model.stock
        no_layouts, no_parts = [0] * len(self.pool), [0] * len(parts)
        levels = [
            _Level(no_layouts + [int(p.priority == priority) for p in parts])
            for priority in sorted({p.priority for p in parts}, reverse=True)
        ]
        on_rack = sum(s.money * s.count for s in stock if not s.to_buy)
        bought = [c.money if stock[c.stock].to_buy else 0 for c in self.pool]
        levels += [
            _Level([c.money for c in self.pool] + no_parts, least_money),
            _Level(bought + no_parts, max(0, least_money - on_rack)),
            _Level([c.net for c in self.pool] + no_parts),
            _Level([1 + stock[c.stock].dig for c in self.pool] + no_parts),
        ]
        return levels

    def run(self, deadline: float, work: float, least_money: int) -> None:
        """Minimise level after level and freeze each; a level gets most of the work that is left."""
        before: list[int] = []
        for level in self.levels(least_money):
            weights = self._scaled(level.weights)
            if not any(weights) or weights == before:
                continue
            before = weights
            terms = [w * v for w, v in zip(weights, self._x + self._absent, strict=True) if w]
            if self._sum(level.weights) > level.floor:
                left = deadline - monotonic()
                if left <= 0.01 or work <= 0.001:
                    return
                work -= self._solve(terms, left, work * SHARE)
            self._cp.add(sum(terms) <= self._sum(weights))

    def _sum(self, weights: list[int]) -> int:
        return sum(w * v for w, v in zip(weights, self._values, strict=True))

    def _scaled(self, weights: list[int]) -> list[int]:
        """Return the weights over their common divisor, coarsened until every sum is safe."""
        step = gcd(*weights) or 1
        bounds = [self.model.most_times(c) for c in self.pool] + [p.demand for p in self.model.parts]
        most = sum(abs(w) * b for w, b in zip(weights, bounds, strict=True))
        step = max(step, -(-most // TOP))
        return [(2 * w + step) // (2 * step) for w in weights]

    def _solve(self, terms: list[LinearExprT], seconds: float, work: float) -> float:
        """Minimise one level from the values so far; return the work it took."""
        from ortools.sat.python import cp_model

        self._cp.clear_hints()
        for var, value in zip(self._x + self._absent, self._values, strict=True):
            self._cp.add_hint(var, value)
        self._cp.minimize(sum(terms))
        solver = constraint_solver(self.workers)
        solver.parameters.random_seed = self.seed
        solver.parameters.max_time_in_seconds = seconds
        solver.parameters.max_deterministic_time = work
        solver.parameters.linearization_level = 2
        if solver.solve(self._cp) in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            self._values = [solver.value(v) for v in self._x + self._absent]
            self.found = True
        return float(solver.deterministic_time)

    def taken(self) -> list[Candidate]:
        """Return the chosen layouts, each as often as it is cut."""
        return [c for c, n in zip(self.pool, self._values, strict=False) for _ in range(n)]


def trimmed(model: Model, chosen: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """Return the choice without parts beyond the demand, each taken from where its place is worth most."""
    out = [c for c in chosen if c.gives]
    placed: Counter[int] = Counter()
    for c in out:
        placed.update(dict(c.gives))
    for k, p in enumerate(model.parts):
        for _ in range(placed[k] - p.demand):
            tries = [(n, without(model, c, k)) for n, c in enumerate(out) if k in dict(c.gives)]
            gains = [(out[n].net - (less.net if less.gives else 0), -n) for n, less in tries]
            n, less = tries[gains.index(max(gains))]
            out[n] = less
    return tuple(c for c in out if c.gives)


def without(model: Model, candidate: Candidate, part: int) -> Candidate:
    """Return the layout with one copy of a part turned into leftover."""
    if is_free(candidate.pattern.root):
        return lighter(model, candidate, part)
    row = model.parts[part].row
    root = _without(candidate.pattern.root, row)
    assert root is not None, "the layout does not give this part"
    return weighed(model, candidate.stock, root)


def _without(node: Node, row: int) -> Node | None:
    if node.part == row:
        return Node(node.length, node.width)
    for n, child in enumerate(node.children):
        changed = _without(child, row)
        if changed is not None:
            return replace(node, children=(*node.children[:n], changed, *node.children[n + 1 :]))
    return None
