"""While a plan is being made: the best so far on standard error, and Ctrl-C that keeps it."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from time import monotonic
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:
    from stockyard.desk.solving import Improvement
    from stockyard.measure import Unit

SHORT, INTERRUPTED = 3, 130


@contextmanager
def until_interrupted() -> Iterator[list[int]]:
    """Collect the first Ctrl-C instead of stopping at once; the next one stops as usual."""
    interrupts: list[int] = []
    before = signal.getsignal(signal.SIGINT)

    def note(number: int, _frame: object) -> None:
        interrupts.append(number)
        signal.signal(signal.SIGINT, before)

    signal.signal(signal.SIGINT, note)
    try:
        yield interrupts
    finally:
        signal.signal(signal.SIGINT, before)


class Progress:
    """The best plan so far, on standard error: one line rewritten, or at most one line a second."""

    def __init__(self, unit: Unit, *, money: bool = True) -> None:
        self._unit, self._money = unit, money
        self._terminal = sys.stderr.isatty()
        self._last = float("-inf")
        self._held: Improvement | None = None
        self._wide = 0

    def show(self, best: Improvement) -> None:
        """Tell of a better plan."""
        if self._terminal:
            text = self._words(best)
            sys.stderr.write("\r" + text.ljust(self._wide))
            sys.stderr.flush()
            self._wide = len(text)
        elif monotonic() - self._last >= 1.0:
            self._last, self._held = monotonic(), None
            typer.echo(self._words(best), err=True)
        else:
            self._held = best

    def end(self) -> None:
        """Tell of the last plan if that was held back, and leave the line."""
        if self._terminal and self._wide:
            sys.stderr.write("\n")
        elif self._held:
            typer.echo(self._words(self._held), err=True)

    def _words(self, best: Improvement) -> str:
        from stockyard.figures import area
        from stockyard.measure import MONEY
        from stockyard.wording import count

        parts = "all parts placed" if not best.missing else f"{count(best.missing, 'part')} not placed"
        net = area(best.net, self._unit)
        money = f"{best.money / MONEY:.2f} to draw, " if self._money else ""
        return f"{best.seconds:5.1f} s: {parts}, {count(best.pieces, 'piece')}, {money}{net} of material"
