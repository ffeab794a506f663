"""Questions about a list put to a person, one after the other."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, TextIO

import typer

from stockyard.errors import BadInput

if TYPE_CHECKING:
    from stockyard.desk.door import Yard
    from stockyard.desk.job_list import JobList, Question, Ways

OR_LINE = ("the line written again", "skip")
_MOST_SHOWN = 40


def ask_all(yard: Yard, text: str, ways: Ways, found: JobList, person: TextIO) -> tuple[JobList, Ways]:
    """Ask one question after the other until none is open, or the person ends the answers.

    Each answer may settle or raise others. Returns the list as it then reads, and the answers.
    """
    from stockyard.desk.job_list import understand

    while found.questions:
        question = found.questions[0]
        show_question(question, text)
        reply = reply_of(person)
        if reply is None:
            break
        if not reply:
            typer.echo("  Nothing is chosen yet: Enter alone answers nothing.", err=True)
            continue
        try:
            now = replace(ways, answers={**ways.answers, question.id: _with_before(question, ways, reply)})
            found = understand(yard, text, now)
        except BadInput as error:
            typer.echo(f"  {error}", err=True)
            continue
        if any(q.id == question.id and q.unclear == question.unclear for q in found.questions):
            typer.echo("  That is not clear either: choose a number, or write the line again.", err=True)
        ways = now
    return found, ways


def reply_of(person: TextIO) -> str | None:
    """Return the line a person answers, None when there are no more."""
    typer.echo("> ", nl=False, err=True)
    line = person.readline()
    return line.strip() if line else None


def _with_before(question: Question, ways: Ways, reply: str) -> str:
    """Return a reply together with those given before for other lines of the same question."""
    before = ways.answers.get(question.id)
    if before is None or ":" not in before or question.retype:
        return reply
    from stockyard.desk.job_list import for_each

    now = for_each(reply, question.lines)
    return "; ".join([before, *(f"{line}: {text}" for line, text in now.items())])


def show_question(question: Question, text: str) -> None:
    """Print a question with the lines it is about and what may be answered."""
    several = len(question.lines) > 1 and not question.retype
    where = places(question) if several else f"line {question.line}, column {question.column}"
    lines = text.splitlines()
    shown = [
        f"  {n:>4} | {lines[n - 1].strip()[:100]}" for n in question.lines[:_MOST_SHOWN] if n <= len(lines)
    ]
    typer.echo("\n" + "\n".join([f"{where}:", *(shown if several else [question.text])]), err=True)
    typer.echo(question.unclear, err=True)
    for number, reading in enumerate(question.readings, 1):
        typer.echo(f"  {number}  {reading.says}", err=True)
    if question.or_else:
        typer.echo(f"  or {question.or_else}", err=True)
    if several:
        first, last = question.lines[0], question.lines[-1]
        typer.echo(f"  One answer for all, or one for each: {first}: ...; {last}: ...", err=True)
    if question.retype and len(question.lines) > 1:
        typer.echo(f"  Lines {', '.join(map(str, question.lines[1:_MOST_SHOWN]))} hang on it.", err=True)
    if question.retype:
        typer.echo("  Or write the line again, or skip to leave it out.", err=True)


def places(question: Question) -> str:
    """Name the lines of a question, with the column where it is about one."""
    if len(question.lines) < 2 or question.retype:
        return f"line {question.line}, column {question.column}"
    shown = ", ".join(str(n) for n in question.lines[:_MOST_SHOWN])
    return f"lines {shown}" + (" ..." if len(question.lines) > _MOST_SHOWN else "")


def choices(question: Question) -> list[str]:
    """Return what may be answered: the readings, and for a line the line anew or `skip`."""
    readings = [f"{r.key}: {r.says}" if r.key != r.says else r.key for r in question.readings]
    other = [question.or_else] if question.or_else else []
    return [*readings, *other, *(OR_LINE if question.retype else ())]
