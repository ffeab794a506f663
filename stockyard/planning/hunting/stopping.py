"""When a search is over: criteria that are asked between its steps, and that compose."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from time import monotonic

Criterion = Callable[[], bool]
"""Whether to stop now."""


@dataclass(frozen=True, slots=True)
class Window:
    """How long a gain is looked for before a run may end for want of one."""

    least: float = 0.3
    """Seconds for any job,"""
    part: float = 0.03
    """seconds more for each part,"""
    most: float = 1.2
    """and for very many parts."""
    share: float = 0.5
    """The share of the time so far, where that is more."""


WINDOW = Window()


def any_of(*criteria: Criterion | None) -> Criterion:
    """Stop as soon as one of them says so."""
    asked = tuple(c for c in criteria if c is not None)
    return lambda: any(c() for c in asked)


class Gains:
    """The run's own curve: when it came to a better answer, and how much better.

    Money is no part of it: while less of that may be had, a further second is always worth it.
    """

    def __init__(self, parts: int, now: Callable[[], float] = monotonic) -> None:
        """`parts`: how many there are."""
        self._now = now
        self._least = min(WINDOW.most, WINDOW.least + WINDOW.part * parts)
        self._begun = now()
        self._curve: list[tuple[float, int, int]] = []  # when, what counts more than net material, that

    def note(self, first: int, net: int) -> None:
        """Take notice of an answer: net material (ticks²), and before it what counts more."""
        self._curve.append((self._now(), first, net))

    def begin_anew(self) -> None:
        """Forget the curve but for the last answer: from now on another search looks for a better one."""
        self._begun = self._now()
        self._curve = [(self._begun, *entry[1:]) for entry in self._curve[-1:]]

    def per_second(self) -> float:
        """Return the net material (ticks²) saved a second of late; without end while more changed."""
        now = self._now()
        window = max(self._least, WINDOW.share * (now - self._begun))
        since = now - window
        if not self._curve or since < self._curve[0][0]:
            return float("inf")
        then = next(entry for entry in reversed(self._curve) if entry[0] <= since)
        last = self._curve[-1]
        return float("inf") if then[1] != last[1] else (then[2] - last[2]) / window


def not_worth_it(gains: Gains, second: int, settled: Criterion) -> Criterion:
    """Stop when another second promises less net material than `second` (ticks²).

    Only once it is `settled` that nothing better than net material can be had.
    """
    return lambda: settled() and gains.per_second() < second
