"""The order of work over several pieces: each setting of fence or stop serves every piece that needs it.

A person with a few pieces in work sets the fence once and takes the cuts of all of them, as far as what
has to be cut first allows, before it is moved.
"""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from stockyard.planning.fences import Saw, moves
from stockyard.planning.plan import Cut, Layout
from stockyard.planning.tree import Axis

# Pieces in work side by side: what one person can keep apart (common practice, no source).
AT_ONCE = 6
_TRIES = 24


@dataclass(frozen=True, slots=True)
class Round:
    """One setting and the cuts made with it: pairs of layout (counted from 0) and step."""

    direction: Axis
    fence: int
    cuts: tuple[tuple[int, int], ...]


_Setting = tuple[Axis, int]
_Chains = list[deque[Cut]]
_Order = list[tuple[_Setting, list[tuple[int, int]]]]


def rounds(layouts: Sequence[Layout]) -> tuple[Round, ...]:
    """Return the order of work for finished layouts, AT_ONCE at a time, every card's steps in their order."""
    made: list[Round] = []
    saw: Saw = {}
    for start in range(0, len(layouts), AT_ONCE):
        batch = layouts[start : start + AT_ONCE]
        tries = [_merged(batch, dict(saw), Random(n) if n else None) for n in range(_TRIES)]
        best = min(tries, key=lambda tried: moves((s for s, _ in tried), dict(saw)))
        moves((s for s, _ in best), saw)
        for setting, cuts in best:
            made.append(Round(*setting, tuple((start + piece, step) for piece, step in cuts)))
    return tuple(made)


def round_moves(made: Sequence[Round]) -> int:
    """Return how often fence or stop is set; each keeps its setting while the other is in use."""
    return moves(((r.direction, r.fence) for r in made), {})


def _merged(layouts: Sequence[Layout], saw: Saw, rng: Random | None) -> _Order:
    """Use what is set; then set what can be put away for good after, else what serves most cuts now."""
    chains: _Chains = [deque(lay.cuts) for lay in layouts]
    waiting = Counter(_setting(c) for chain in chains for c in chain)
    made: _Order = []
    while any(chains):
        setting = _next(chains, waiting, saw, rng)
        saw[setting[0]] = setting[1]
        cuts = []
        for piece, chain in enumerate(chains):
            while chain and _setting(chain[0]) == setting:
                cuts.append((piece, chain.popleft().step))
        waiting[setting] -= len(cuts)
        made.append((setting, cuts))
    return made


def _next(chains: _Chains, waiting: Counter[_Setting], saw: Saw, rng: Random | None) -> _Setting:
    serves: Counter[_Setting] = Counter()
    for chain in chains:
        for cut in chain:
            if _setting(cut) != _setting(chain[0]):
                break
            serves[_setting(cut)] += 1

    def key(setting: _Setting) -> tuple[bool, bool, float, int]:
        to_set = saw.get(setting[0]) != setting[1]
        chance = rng.random() * 3 if rng else 0.0
        return to_set, waiting[setting] > serves[setting], -serves[setting] - chance, -setting[1]

    return min(sorted(serves), key=key)


def _setting(cut: Cut) -> _Setting:
    return cut.direction, cut.fence
