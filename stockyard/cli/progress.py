"""While a plan is being made: the best so far on standard error, and Ctrl-C that keeps it."""

from __future__ import annotations

import gc
import os
import shutil
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from time import monotonic
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from stockyard.desk.solving import Improvement
    from stockyard.measure import Unit

SHORT, INTERRUPTED = 3, 130
STOPPING = b"\nStopping with the best plan so far; Ctrl-C again gives it up.\n"
# Seconds between two looks of the line at the clock.
_TICK = 0.5


@contextmanager
def until_interrupted() -> Iterator[list[int]]:
    """Collect the first Ctrl-C instead of stopping at once, and say so; the next one stops as usual."""
    interrupts: list[int] = []
    before = signal.getsignal(signal.SIGINT)

    def note(number: int, _frame: object) -> None:
        interrupts.append(number)
        if sys.stderr.isatty():  # written past what may be in the middle of a line
            os.write(sys.stderr.fileno(), STOPPING)
        signal.signal(signal.SIGINT, before)

    signal.signal(signal.SIGINT, note)
    try:
        yield interrupts
    finally:
        signal.signal(signal.SIGINT, before)


@contextmanager
def keeping_all() -> Iterator[None]:
    """Collect no garbage: a large plan is a million things, and none of them is garbage."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


class Progress:
    """The best plan so far: one line on standard error, rewritten; nothing where that is no terminal."""

    def __init__(self, unit: Unit, *, money: bool = True) -> None:
        self._unit, self._money = unit, money
        self._terminal = sys.stderr.isatty()
        self._best: Improvement | None = None
        self._heard = self._written = 0.0
        self._wide = 0

    def show(self, best: Improvement) -> None:
        """Tell how planning stands."""
        self._best, self._heard = best, monotonic()
        self._write()

    def tick(self) -> None:
        """Let the clock in the line go on; to be called several times a second."""
        if self._best is not None and monotonic() - self._written > _TICK:
            self._write()

    def end(self) -> None:
        """Leave the line."""
        if self._wide:
            sys.stderr.write("\n")
            self._wide = 0

    def _write(self) -> None:
        if not self._terminal or self._best is None:
            return
        self._written = monotonic()
        wide = shutil.get_terminal_size().columns - 1
        text = in_words(self._best, self._written - self._heard, self._unit, money=self._money)[:wide]
        sys.stderr.write("\r" + text.ljust(self._wide))
        sys.stderr.flush()
        self._wide = len(text)


def in_words(best: Improvement, since: float, unit: Unit, *, money: bool) -> str:
    """Write how planning stands `since` seconds after it was told; `money`: what is spent too.

    What may still be saved stands within the 80 letters of a narrow terminal, the materials after it.
    """
    from stockyard.figures import area
    from stockyard.measure import MONEY
    from stockyard.wording import count

    clock = f"{best.seconds + since:.0f} s"
    if best.left is not None:
        clock += f", {max(0.0, best.left - since):.0f} s left"
    placed = "" if not best.missing else f"all but {count(best.missing, 'part')} from "
    spent = f" for {best.money / MONEY:.2f}" if money and best.money else ""
    takes = f"{placed}{count(best.pieces, 'piece')}{spent}, {area(best.net, unit)}"
    named = f"; {', '.join(best.materials)}" if best.materials else ""
    return f"{clock}: {takes}; {_gap(best)}{named}"


def _gap(best: Improvement) -> str:
    """Say how far the plan may be from the best one."""
    if best.missing:
        return "looking for room"
    if best.money <= best.least:
        return "none costs less"
    return f"at most {100 * (best.money - best.least) / best.money:.1f} % to save"
