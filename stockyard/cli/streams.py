"""The three streams of a command: closed ones, full ones, and what may be written to a terminal."""

from __future__ import annotations

import errno
import io
import os
import re
import sys
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, TextIO

from stockyard.cli.faults import REFUSED, worded
from stockyard.errors import BadInput, Refused, StockyardError
from stockyard.text import leaving, obeyed_by_none

if TYPE_CHECKING:
    from stockyard.desk.door import Yard

_opened: list[Yard] = []
# What we write to a terminal ourselves: bold, back to plain, clear the line, back to its start.
_OWN = re.compile("\x1b\\[(?:[01]m|2?K)|\r\n?")


class OutputLost(OSError):
    """What was printed could not be handed on; `cut_off` says that its reader merely went away."""

    def __init__(self, error: OSError) -> None:
        super().__init__(f"cannot write the output: {(error.strerror or str(error)).lower()}")
        self.cut_off = error.errno == errno.EPIPE


class Printed(io.TextIOBase):
    """A text stream that passes only text that prints and our own signs for the terminal."""

    def __init__(self, under: TextIO) -> None:
        self._under = under

    def write(self, text: str) -> int:
        """Write, with what a terminal would obey written out."""
        try:
            self._under.write(obeyed_by_none(text, _OWN))
        except OSError as error:
            raise OutputLost(error) from None
        return len(text)

    def __getattr__(self, name: str) -> Any:
        return getattr(self._under, name)

    def flush(self) -> None:
        """Hand what was written to the system."""
        try:
            self._under.flush()
        except OSError as error:
            raise OutputLost(error) from None

    def isatty(self) -> bool:
        """Whether a person reads this."""
        return self._under.isatty()

    def fileno(self) -> int:
        """Return the system's number of the stream."""
        return self._under.fileno()

    @property
    def encoding(self) -> str:  # type: ignore[override]
        """The encoding of the stream."""
        return self._under.encoding


def prepare(words: Sequence[str]) -> None:
    """Make the three streams usable, whatever the shell did to them, and look at the words given.

    Raises:
        Refused: there is nowhere to print to.
        BadInput: a word is no text.
    """
    _fill_closed()
    nowhere = sys.stdout is None
    if sys.stdin is None:
        sys.stdin = open(os.devnull, encoding="utf-8")  # noqa: PTH123, SIM115
    if sys.stderr is None:
        sys.stderr = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115
    if sys.stdout is None:
        sys.stdout = open(os.devnull, "w", encoding="utf-8")  # noqa: PTH123, SIM115
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    sys.stdout, sys.stderr = Printed(sys.stdout), Printed(sys.stderr)
    if nowhere:
        raise Refused("standard output is closed: nothing was done; to see nothing, send it to a file")
    look_at_words(words)


def look_at_words(words: Sequence[str]) -> None:
    """Look that every word of a command is text.

    Raises:
        BadInput: one holds bytes that are none.
    """
    for n, word in enumerate(words, 1):
        try:
            sound = b"\0" not in word.encode()
        except UnicodeEncodeError:
            sound = False
        if not sound:
            raise BadInput(f"word {n} of the command, '{leaving(word[:40])}', is not UTF-8 text")


def _fill_closed() -> None:
    """Take the first three numbers of files where they are free: no yard may be opened as one of them."""
    while True:
        handle = os.open(os.devnull, os.O_RDWR)
        if handle > 2:
            os.close(handle)
            return


def _failure(error: OSError) -> str:
    """Say in one line what the system refused."""
    if isinstance(error, OutputLost):
        return str(error)
    why = (error.strerror or str(error)).lower()
    return f"cannot use {os.fsdecode(error.filename)}: {why}" if error.filename else f"cannot go on: {why}"


def forget_deeds() -> None:
    """Begin a command: what was done before it in this process is not its doing."""
    _opened.clear()


def watch(opened: Yard) -> Yard:
    """Keep in mind a yard that this command opened, and return it."""
    _opened.append(opened)
    return opened


def deeds_done() -> str:
    """Say which deeds this command did, for a person who did not get to see it; empty for none."""
    done = [deed for opened in _opened for deed in opened.done]
    if not done:
        return ""
    named = "; ".join(f"{number} ({says})" for number, says in done[-3:])
    return f"recorded all the same: entry {named}. 'stockyard ledger' shows it"


def finish(code: int) -> int:
    """Hand the last output to the system; return the exit code, another where that cannot be done."""
    try:
        sys.stdout.flush()
    except OSError as error:
        tell_lost(error)
        return code or REFUSED
    except ValueError:
        return code  # closed by the command itself
    return code


def tell_lost(error: OSError) -> None:
    """Say what the system refused and what was recorded; output that is lost is dropped for good."""
    done = deeds_done()
    if isinstance(error, OutputLost):
        _drop(1)
        if error.cut_off and not done:
            return
    tell("; ".join(part for part in (_failure(error), done) if part))


def tell(text: str) -> None:
    """Print one line on standard error; where there is none, there is nobody to tell."""
    try:
        sys.stderr.write(f"stockyard: {leaving(text)}\n")
        sys.stderr.flush()
    except OSError:
        _drop(2)


def _drop(number: int) -> None:
    """Send a stream to nowhere, so that ending the program does not fail on it again."""
    handle = os.open(os.devnull, os.O_WRONLY)
    os.dup2(handle, number)
    os.close(handle)


def fault(error: BaseException) -> str:
    """Say that the program itself is at fault."""
    if isinstance(error, StockyardError):
        return worded(error)
    return f"this is a fault of stockyard itself ({type(error).__name__}: {str(error)[:200]}); " + (
        deeds_done() or "nothing was recorded"
    )
