"""The order of work: cuts on one piece and pieces of one job so that fence and stop are seldom moved.

The rip fence and the crosscut stop are two settings that stay until they are moved; a trim takes its
few millimetres off by eye or by a guide and moves neither. Every order here
keeps the cuts themselves: only which child of a split comes off first, which piece is cut first, and
which open piece is cut next may change.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from random import Random
from typing import NamedTuple

from stockyard.planning.sawing.cuts import Bench, Sawyer, in_order
from stockyard.planning.sawing.tidy import Rank
from stockyard.planning.tree import Axis, Pattern

Setting = tuple[Axis, int]
Settings = tuple[Setting, ...]
Saw = dict[Axis, int]
"""What is set now."""

Stand = tuple[int | None, int | None]
"""The same between two pieces: where stop and fence stand, None before the first cut."""

UNSET: Stand = (None, None)
_TRIES = 8
_KEPT = 8
_EFFORT = 60_000


class Run(NamedTuple):
    """The settings of one way to cut a piece, as its neighbours in the job see them.

    `moves` are those within the piece, `sizes` and `cuts` how many different settings and cuts there are.
    """

    crosscuts: tuple[int, int] | None
    rips: tuple[int, int] | None
    moves: int
    sizes: int
    cuts: int

    def after(self, saw: Stand) -> tuple[int, Stand]:
        """Return the moves when the saw is set like this before, and how it is set then."""
        made, (stop, fence) = self.moves, saw
        if self.crosscuts is not None:
            made += self.crosscuts[0] != stop
            stop = self.crosscuts[1]
        if self.rips is not None:
            made += self.rips[0] != fence
            fence = self.rips[1]
        return made, (stop, fence)


@dataclass(frozen=True, slots=True)
class Work:
    """One piece with its cuts in order, the settings they need, and what the neighbours see of these."""

    bench: Bench
    order: tuple[Bench, ...]
    settings: Settings
    run: Run


def moves(settings: Iterable[Setting], saw: Saw) -> int:
    """Return how often something is set; `saw` is left as the last cut leaves it."""
    count = 0
    for axis, fence in settings:
        count += saw.get(axis) != fence
        saw[axis] = fence
    return count


def run_of(settings: Settings) -> Run:
    """Return what the order of the pieces needs to know of the settings of one way to cut a piece."""
    by_axis = [[fence for axis, fence in settings if axis is a] for a in Axis]
    crosscuts, rips = ((fences[0], fences[-1]) if fences else None for fences in by_axis)
    begun = sum(map(bool, by_axis))
    return Run(crosscuts, rips, moves(settings, {}) - begun, len(set(settings)), len(settings))


def one_piece(bench: Bench, rank: Rank) -> Work:
    """Return the cuts of one piece: what is set already first, then by rank, in hand, and the biggest."""
    order: list[Bench] = []
    saw: Saw = {}
    waiting = [bench] if bench.axis is not None else []
    last: Axis | None = None
    in_hand: tuple[Bench | None, ...] = ()

    def key(b: Bench) -> tuple[bool, int, bool, bool, int, int]:
        assert b.axis is not None
        moved = not b.trims and saw.get(b.axis) != b.fence
        place = rank.get((b.axis, b.fence), len(rank))
        # At a setting that stays, what is in hand goes through again.
        laid_down = not moved and b not in in_hand
        return moved, place, b.axis is not last, laid_down, -b.dx * b.dy, -b.fence

    while waiting:
        b = min(waiting, key=key)
        waiting.remove(b)
        order.append(b)
        assert b.axis is not None
        if not b.trims:
            saw[b.axis] = b.fence
        last, in_hand = b.axis, b.sides
        waiting += [s for s in b.sides if s is not None and s.axis is not None]
    settings = _settings(order)
    return Work(bench, tuple(order), settings, run_of(settings))


def _settings(order: Sequence[Bench]) -> Settings:
    return tuple((b.axis, b.fence) for b in order if b.axis is not None and not b.trims)


def works(sawyer: Sawyer, pattern: Pattern) -> list[Work]:
    """Return ways to cut one piece with few moves that differ in how they begin and end."""
    natural = one_piece(sawyer.bench(pattern), {})
    kept = _kept_area(natural.bench)
    best: dict[tuple[object, object], tuple[int, Work]] = {}  # by how they begin and end
    for rank in ({}, *_ranks(natural.settings)):
        work = natural if not rank else one_piece(sawyer.bench(pattern, rank), rank)
        if _kept_area(work.bench) < kept:
            continue
        count, _ = work.run.after(UNSET)
        ends = work.run.crosscuts, work.run.rips
        if ends not in best or count < best[ends][0]:
            best[ends] = count, work
    least = min(count for count, _ in best.values())
    few = sorted((v for v in best.values() if v[0] <= least + 1), key=lambda v: v[0])
    return [natural, *(work for _, work in few[:_KEPT] if work is not natural)]


def _kept_area(bench: Bench) -> int:
    return sum(b.dx * b.dy for b in in_order(bench) if b.kept)


def _ranks(settings: Sequence[Setting]) -> list[Rank]:
    """Return orders of the settings to try: widest first, narrowest first, each one first or last, mixed."""
    down = sorted(set(settings), key=lambda s: (-s[1], s[0]))
    orders = [down, down[::-1]]
    for s in down[: _TRIES // 2]:
        others = [o for o in down if o != s]
        orders += [[s, *others], [*others, s]]
    rng = Random(len(settings))
    for _ in range(_TRIES // 2):
        mixed = down[:]
        rng.shuffle(mixed)
        orders.append(mixed)
    return [{s: i for i, s in enumerate(order)} for order in orders] if len(down) > 1 else []


def in_order_of_work(choices: Sequence[Sequence[Run]]) -> list[int]:
    """Return an order of the pieces with few moves over the whole job.

    `choices` holds for each piece the runs of each way to cut it.
    """
    starts = [_nearest(choices), list(range(len(choices)))]
    cost, order = min((best_ways([choices[i] for i in order])[0], order) for order in starts)
    left = _EFFORT // max(1, sum(run.cuts for ways in choices for run in ways))
    for taken in range(len(order)):
        for place in range(len(order)):
            if left == 0 or place == taken:
                continue
            left -= 1
            tried = order[:]
            tried.insert(place, tried.pop(taken))
            better, _ = best_ways([choices[i] for i in tried])
            if better < cost:
                order, cost = tried, better
    return order


def _nearest(choices: Sequence[Sequence[Run]]) -> list[int]:
    """Return the pieces so that each begins, where it can, as the one before it ended."""
    waiting = list(range(len(choices)))
    order: list[int] = []
    saw: Stand = UNSET
    while waiting:
        _, i, way = min(
            (run.after(saw)[0] - run.sizes, i, way) for i in waiting for way, run in enumerate(choices[i])
        )
        _, saw = choices[i][way].after(saw)
        order.append(i)
        waiting.remove(i)
    return order


def best_ways(choices: Sequence[Sequence[Run]]) -> tuple[int, tuple[int, ...]]:
    """Return the fewest moves over pieces in this order, and the way to cut each (exact)."""
    states: dict[Stand, tuple[int, tuple[int, ...]]] = {UNSET: (0, ())}
    for ways in choices:
        following: dict[Stand, tuple[int, tuple[int, ...]]] = {}
        for state, (count, path) in states.items():
            for way, run in enumerate(ways):
                made, saw = run.after(state)
                total = count + made
                if saw not in following or total < following[saw][0]:
                    following[saw] = total, (*path, way)
        states = following
    return min(states.values())
