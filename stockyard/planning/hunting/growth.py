"""Plans for less money grown part by part, many side by side, wider each time (`tables/staged.py`)."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stockyard.planning.boards.bars import line_of
from stockyard.planning.choosing.answer import judge
from stockyard.planning.compiled import COMPILED
from stockyard.planning.hunting.state import State
from stockyard.planning.model import AS_WRITTEN, TURNED, UNLIMITED, Candidate, Model
from stockyard.planning.recreate.forest import Ints
from stockyard.planning.sawing.tidy import split
from stockyard.planning.tables import staged
from stockyard.planning.tables.pricing import joined_along, weighed
from stockyard.planning.tree import Axis, Node

Step = tuple[int, int, bool]
"""A part laid down: where (as `staged` numbers it), which, and whether turned."""
ALONG = Axis.CROSSCUT, Axis.RIP, Axis.CROSSCUT, Axis.RIP
"""How strips, rows, columns and parts follow one another where strips run across the length."""
ACROSS = Axis.RIP, Axis.CROSSCUT, Axis.RIP, Axis.CROSSCUT

Counts = NDArray[np.int16]
"""How many of each part are left in each of many plans."""


@dataclass(frozen=True, slots=True)
class Growing:
    """How plans are grown."""

    first: int = 200
    """Plans side by side at first,"""
    more: float = 2.0
    """so many times more once all manners have had their turn,"""
    most: int = 6000
    """and at most,"""
    work: float = 6e7
    """for which so many plans times parts times kinds of part may be looked at: about a second."""
    most_parts: int = 300
    """With more parts it takes too long."""
    constants: tuple[float, ...] = (0.05, 0.03)
    """What is added to the share of waste before it is divided by the area placed, in turn: the more, the
    sooner go large parts."""
    blur: float = 0.03
    """How far chance blurs the order of plans, so that no two turns are the same."""
    harvest: int = 40
    """Unfinished plans whose pieces are given when none comes to its end."""
    room: int = 8
    """Places of the table of what was met, for each plan side by side, at least."""


class Growth:
    """Grows plans of one model on its only stock row, time after time."""

    def __init__(self, model: Model, seed: int, manner: Growing | None = None) -> None:
        self.model, self._manner = model, manner or Growing()
        piece = model.stock[0]
        self._sides = piece.length, piece.width
        self._parts = np.array([(p.length, p.width, p.lies[0]) for p in model.parts], np.int64)
        self._demand = np.array([p.demand for p in model.parts], np.int64)
        self._area = sum(p.length * p.width * p.demand for p in model.parts)
        self._seed, self._turns = seed, 0

    @property
    def is_possible(self) -> bool:
        """Whether there is but one stock row, as many sheets as wanted, each costs, and it would be quick."""
        first, is_small = self.model.stock[0], self._demand.sum() <= self._manner.most_parts
        alone = len(self.model.stock) == 1 and first.count == UNLIMITED and first.money > 0
        return COMPILED and is_small and alone and line_of(self.model) is None

    def round(
        self, team: ThreadPoolExecutor, hands: int, money: int, filled: float, stop: Callable[[], bool]
    ) -> tuple[list[Candidate], list[Candidate]]:
        """Return the layouts of a plan for less than `money`, or none, and those of unfinished plans that are
        filled to this share at least."""
        pieces = (money - 1) // self.model.stock[0].money
        jobs = [team.submit(self._grown, self._turns + n, pieces, filled, stop) for n in range(hands)]
        self._turns += hands
        plan: list[Candidate] = []
        met: list[Candidate] = []
        for job in jobs:
            complete, layouts = job.result()
            if complete:
                plan = layouts
            else:
                met += layouts
        return plan, met

    def _grown(
        self, turn: int, pieces: int, filled: float, stop: Callable[[], bool]
    ) -> tuple[bool, list[Candidate]]:
        """Grow plans on so many pieces; return whether one has all parts, and its layouts, or well filled
        ones of the plans that came furthest."""
        manner = self._manner
        marks = np.random.default_rng((self._seed, turn)).integers(1, staged.PRIME, len(self._parts))
        often, turn = divmod(turn, len(manner.constants) * (1 + self._differs))
        wide = self._wide(often)
        across = turn >= len(manner.constants)
        length, width = self._sides[::-1] if across else self._sides
        parts = self._parts[:, [1, 0, 2]] if across else self._parts
        waste = pieces * length * width - self._area
        constant = manner.constants[turn % len(manner.constants)]
        rules = np.array([length, width, waste, constant, manner.blur], np.float64)
        beds = [(np.zeros((wide, staged.FIELDS), np.int64), _counts(wide, self._demand)) for _ in range(2)]
        beds[0][0][0, staged.PIECES] = 1
        keys, picks = np.zeros(wide), np.zeros((wide, 2), np.int64)
        seen = np.zeros(1 << (manner.room * wide).bit_length(), np.int64)
        out, many, history = np.zeros(staged.FIELDS, np.int64), 1, list[Ints]()
        for n in range(int(self._demand.sum())):
            steps = np.zeros((wide, 2), np.int64)
            many = staged.grow(
                *beds[n % 2], many, *beds[1 - n % 2], steps, parts, marks, rules, keys, picks, seen, out
            )
            if not many or stop():
                break
            history.append(steps[:many].copy())
        else:
            return True, self._layouts(_pieces(history, 0), across=across)
        furthest = min(len(history[-1]) if history else 0, manner.harvest)
        distinct = dict.fromkeys(piece for n in range(furthest) for piece in _pieces(history, n))
        least = filled * length * width
        return False, self._layouts((p for p in distinct if self._area_of(p) >= least), across=across)

    def _area_of(self, piece: Iterable[Step]) -> int:
        """Return the area of the parts on a piece."""
        parts = self.model.parts
        return sum(parts[k].length * parts[k].width for _, k, _ in piece)

    def _wide(self, often: int) -> int:
        """Return how many plans grow side by side after so many times with all manners."""
        manner, steps = self._manner, int(self._demand.sum()) * len(self._parts)
        most = max(1, min(manner.most, int(manner.work / steps)))
        wide = float(min(most, manner.first))
        for _ in range(often):
            if wide >= most:
                break
            wide *= manner.more
        return min(most, int(wide))

    @property
    def _differs(self) -> bool:
        """Whether it matters which way the first cuts run."""
        length, width, ways = self._parts.T
        some_lie_one_way = bool(((ways != (AS_WRITTEN | TURNED)) & (length != width)).any())
        return self._sides[0] != self._sides[1] or some_lie_one_way

    def _layouts(self, pieces: Iterable[Sequence[Step]], *, across: bool) -> list[Candidate]:
        """Return the layouts that these steps make, each on a piece."""
        kerf, axes = self.model.problem.kerf, ACROSS if across else ALONG
        length, width = self.model.stock[0].length - kerf, self.model.stock[0].width - kerf
        trees = (self._tree(steps, axes) for steps in pieces)
        return [weighed(self.model, 0, split(Axis.CROSSCUT, length, width, [tree], kerf)) for tree in trees]

    def _tree(self, steps: Iterable[Step], axes: Sequence[Axis]) -> Node:
        """Return the cut tree that these steps on one piece make, without its rests."""
        kerf = self.model.problem.kerf
        begun: list[Node | None] = [None] * 4  # the piece, and its last strip, row and column

        def close(level: int) -> None:
            for n in range(3, level - 1, -1):
                begun[n - 1] = joined_along(axes[n - 1], begun[n - 1], begun[n], kerf)
                begun[n] = None

        for where, k, turned in steps:
            close(max(1, where))
            p = self.model.parts[k]
            sides = (p.width, p.length) if turned else (p.length, p.width)
            leaf = Node(sides[0] - kerf, sides[1] - kerf, part=p.row)
            begun[3] = joined_along(axes[3], begun[3], leaf, kerf)
        close(1)
        assert begun[0] is not None, "no steps"
        return begun[0]


class Grower:
    """Grows plans for one hunt at times, as long as money may be saved."""

    def __init__(self, state: State) -> None:
        self._state, self._growth = state, Growth(state.model, state.seed)

    def due(self) -> bool:
        """In the first rounds, then every so many."""
        s = self._state
        may = self._growth.is_possible and s.best.complete and not s.proven
        return may and (s.beats <= s.rhythm.growth_first or s.beats % s.rhythm.growth_every == 1)

    def grow(self, team: ThreadPoolExecutor, hands: int) -> None:
        """Grow plans, take over one for less money, and pool the layouts of others."""
        s = self._state
        filled = max(s.rhythm.filled, 1 - s.most_waste())
        plan, met = self._growth.round(team, hands, s.best.figures.money, filled, s.clock.must_end)
        s.add(met)
        if plan:
            s.offer(judge(s.model, plan))


def _pieces(history: Sequence[Ints], plan: int) -> list[tuple[Step, ...]]:
    """Return the steps to one plan of the last ones, piece by piece."""
    pieces: list[list[Step]] = [[]]
    for where, k, turned in _steps(history, plan):
        if where == staged.ON_PIECE:
            pieces.append([])
        pieces[-1].append((where, k, turned))
    return [tuple(steps) for steps in pieces]


def _steps(history: Sequence[Ints], plan: int) -> list[Step]:
    """Return the steps to one plan of the last ones, the first step first."""
    steps = []
    for level in reversed(history):
        plan, step = (int(n) for n in level[plan])
        steps.append((step % staged.WAYS // 2, step // staged.WAYS, bool(step % 2)))
    return steps[::-1]


def _counts(wide: int, demand: Ints) -> Counts:
    """Return room for what is left of each part in so many plans; the first has all of it."""
    left = np.zeros((wide, len(demand)), np.int16)
    left[0] = demand
    return left
