"""`stockyard solve`: a problem file in, a plan out, no yard needed."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.errors import BadInput, Refused

if TYPE_CHECKING:
    from stockyard.planning.problem import Problem
    from stockyard.planning.solve import Improvement

SHORT, INTERRUPTED = 3, 130


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    app.command("solve")(solve_file)


def solve_file(
    problem: Annotated[
        str, typer.Argument(metavar="PROBLEM", help="A problem as JSON, or - for standard input.")
    ],
    seconds: Annotated[float, typer.Option(min=0.0, max=86_400.0, help="Stop after this long.")] = 10.0,
    seed: Annotated[int, typer.Option(min=0, help="Another seed may find another plan.")] = 0,
    work: Annotated[
        int | None, typer.Option(min=0, help="Stop after this many rounds: the same plan on any machine.")
    ] = None,
) -> None:
    """Plan the cuts of a problem file and write the plan as JSON.

    Ends with 0 when every part is placed, 3 when some cannot be, 130 when it was interrupted (Ctrl-C keeps
    the best plan so far).
    """
    with _until_interrupted() as interrupts:
        from stockyard.planning.files import read_problem
        from stockyard.planning.solve import Limits, solve
        from stockyard.planning.verify import faults
        from stockyard.planning.written import plan_text

        question, notes = read_problem(_content(problem))
        for note in notes:
            typer.echo(f"stockyard: note: {note}", err=True)
        progress = Progress(question)
        plan = solve(
            question,
            limits=Limits(seconds=None if work is not None and seconds == 10.0 else seconds, work=work),
            seed=seed,
            report=progress.show,
            stop=lambda: bool(interrupts),
        )
        progress.end()
        found = faults(question, plan)
        if found:
            raise Refused(f"internal error: the plan failed its check and is not written: {found[0]}")
        typer.echo(plan_text(question, plan), nl=False)
    if interrupts:
        raise typer.Exit(INTERRUPTED)
    if plan.unplaced:
        raise typer.Exit(SHORT)


def _content(name: str) -> bytes:
    from stockyard.planning.files import LARGEST_FILE

    if name == "-":
        return sys.stdin.buffer.read(LARGEST_FILE + 1)
    try:
        with Path(name).open("rb") as file:
            return file.read(LARGEST_FILE + 1)
    except OSError as e:
        raise BadInput(f"{name}: {e.strerror or e}") from None


@contextmanager
def _until_interrupted() -> Iterator[list[int]]:
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

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
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
        from stockyard.planning.problem import MONEY
        from stockyard.planning.written import area_text

        parts = "all parts placed" if not best.missing else f"{best.missing} parts not placed"
        net = area_text(best.net, self._problem.unit)
        money = f"{best.money / MONEY:.2f} to draw"
        return f"{best.seconds:5.1f} s: {parts}, {best.pieces} pieces, {money}, {net} net"
