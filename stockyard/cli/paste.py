"""`stockyard paste`: a scribbled list becomes a stored job, after it has been shown and asked about."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TextIO

import typer

from stockyard.cli.common import AsJson, YardFile, Yes, open_yard, print_json, print_table
from stockyard.errors import BadInput
from stockyard.measure import Unit, parse, show
from stockyard.wording import count

if TYPE_CHECKING:
    from stockyard.cutlist import Question
    from stockyard.desk.job_list import JobList, Ways
    from stockyard.yard import Yard
    from stockyard.yard.model import JobPart


_COLUMNS = (
    "line", "count", "part", "length", "width", "thick", "material", "grain", "edges", "lumber", "note",
)  # fmt: skip
_OR_LINE = ("the line written again", "skip")
_MOST_SHOWN = 40
_UNITS = {Unit.MM: "millimetres", Unit.INCH: "inches"}


def register(app: typer.Typer) -> None:
    """Add the command to the application."""
    app.command("paste")(paste)


def paste(
    file: Annotated[
        Path | None, typer.Argument(metavar="FILE", help="Text, CSV, TSV or xlsx; - or nothing: paste it in.")
    ] = None,
    job: Annotated[str | None, typer.Option(help="The job's name; the file's name otherwise.")] = None,
    clipboard: Annotated[bool, typer.Option("--clipboard", help="Take the list from the clipboard.")] = False,
    edit: Annotated[bool, typer.Option("--edit", help="Write the list in your editor.")] = False,
    unit: Annotated[Unit | None, typer.Option(help="Of bare figures; the shop's unit otherwise.")] = None,
    first: Annotated[
        str | None, typer.Option(metavar="along|across", help="Where the first figure lies to the grain.")
    ] = None,
    finished: Annotated[
        bool | None, typer.Option("--finished/--cut", help="Sizes with or without their edge bands.")
    ] = None,
    band: Annotated[str, typer.Option(metavar="THICKNESS", help="How thick edge bands are.")] = "",
    answer: Annotated[list[str] | None, typer.Option(metavar="ID=ANSWER", help="Answer a question.")] = None,
    as_json: AsJson = False,
    look: Annotated[bool, typer.Option("--look", help="Only show what is understood.")] = False,
    yes: Yes = False,
    yard: YardFile = None,
) -> None:
    """Read a cut list, show what it says, ask about what is unclear, and store it as a job.

    Nothing is guessed: with nobody there to answer, an open question ends it with 2 and the line and column.
    """
    with open_yard(yard) as open_file:
        from stockyard.cutlist import read_table
        from stockyard.desk.job_list import Ways, understand
        from stockyard.yard.jobs import add_job

        text = read_table(_source(file, clipboard, edit))
        name = job or (file.stem if file and str(file) != "-" else "")
        if not name and not look:
            raise BadInput("the job needs a name: say --job NAME")
        thick = parse(band, unit or open_file.unit) if band else 0
        ways = Ways(
            unit=unit, answers=_answers(answer or ()), first=first, finished=finished, band_thickness=thick
        )
        with ExitStack() as stack:
            person = None if yes else _person(stack)
            found = understand(open_file, text, ways)
            if person and found.questions:
                found = _ask_all(open_file, text, ways, found, person)
            print_json(found) if as_json else _show(found)
            if found.questions:
                raise BadInput(_refusal(found.questions))
            if not found.parts:
                raise BadInput("the list holds no parts: nothing was stored")
            if not look and _agreed(name, found, person):
                made = add_job(open_file, name, text, found.parts)
                if not as_json:
                    typer.echo(f"Stored job {made.id} '{made.name}'. Next: stockyard plan '{made.name}'")


def _source(file: Path | None, clipboard: bool, edit: bool) -> bytes | Path:
    """Return the list's bytes, or the file that holds them."""
    from stockyard.cli.clipboard import from_clipboard, from_editor
    from stockyard.cutlist.decode import LONGEST_TEXT

    if sum((file is not None, clipboard, edit)) > 1:
        raise BadInput("one list at a time: a FILE, --clipboard or --edit")
    if clipboard:
        return from_clipboard()
    if edit:
        return from_editor()
    if file is not None and str(file) != "-":
        return file
    if sys.stdin.isatty():
        typer.echo("Paste the list, then end it with Ctrl-D (Windows: Ctrl-Z and Enter).", err=True)
    return sys.stdin.buffer.read(LONGEST_TEXT + 1)


def _answers(given: Sequence[str]) -> dict[str, str]:
    answers = {}
    for one in given:
        id, equals, text = one.partition("=")
        if not equals or not id.strip():
            raise BadInput(
                f"'{one[:40]}' is no answer: write --answer ID=ANSWER, such as --answer first=along"
            )
        answers[id.strip()] = text
    return answers


def _person(stack: ExitStack) -> TextIO | None:
    """Return where a person answers: standard input, or the terminal when the list came through it."""
    if sys.stdin.isatty():
        return sys.stdin
    if not sys.stdout.isatty():
        return None
    try:
        return stack.enter_context(
            Path("CON" if sys.platform == "win32" else "/dev/tty").open(encoding="utf-8")
        )
    except OSError:
        return None


def _ask_all(yard: Yard, text: str, ways: Ways, found: JobList, person: TextIO) -> JobList:
    """Ask one question after the other until none is open; each answer may settle or raise others."""
    from stockyard.desk.job_list import understand

    while found.questions:
        question = found.questions[0]
        _show_question(question, text)
        reply = _reply(person)
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
    return found


def _reply(person: TextIO) -> str:
    typer.echo("> ", nl=False, err=True)
    line = person.readline()
    if not line:
        raise BadInput("the questions were left open: nothing was stored")
    return line.strip()


def _with_before(question: Question, ways: Ways, reply: str) -> str:
    """Return a reply together with those given before for other lines of the same question."""
    before = ways.answers.get(question.id)
    if before is None or ":" not in before or question.retype:
        return reply
    from stockyard.cutlist.questions import for_each

    now = for_each(reply, question.lines)
    return "; ".join([before, *(f"{line}: {text}" for line, text in now.items())])


def _show_question(question: Question, text: str) -> None:
    several = len(question.lines) > 1 and not question.retype
    where = _places(question) if several else f"line {question.line}, column {question.column}"
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


def _places(question: Question) -> str:
    """Name the lines of a question, with the column where it is about one."""
    if len(question.lines) < 2 or question.retype:
        return f"line {question.line}, column {question.column}"
    shown = ", ".join(str(n) for n in question.lines[:_MOST_SHOWN])
    return f"lines {shown}" + (" ..." if len(question.lines) > _MOST_SHOWN else "")


def _refusal(questions: Sequence[Question]) -> str:
    """Return the one line that says what is open, where, and how to answer."""
    question = questions[0]
    keys = "|".join([*(r.key for r in question.readings), *(_OR_LINE if question.retype else ())])
    more = f" ({len(questions) - 1} more below that)" if len(questions) > 1 else ""
    return (
        f"line {question.line}, column {question.column}: {question.unclear.rstrip('?:')}: "
        f"say --answer '{question.id}={keys}'{more}"
    )


def _show(found: JobList) -> None:
    """Print the list as it is understood, what is worth a look, and what was taken for no part."""
    unit, unsure = found.unit, {n for q in found.questions if q.id.startswith("material") for n in q.lines}
    rows = []
    for row, part in zip(found.rows, found.parts, strict=True):
        doubt = "?" if row.line in unsure else ""
        thick = _exactly(row.thickness, unit) if row.thickness else part.thickness_name or ""
        sizes = (_exactly(row.length, unit), _exactly(row.width, unit), thick)
        more = (row.grain or "", " ".join(row.bands), row.nominal or "", _note(part, unit))
        rows.append(
            (str(row.line), str(row.count), part.name, *sizes, _material(part.materials) + doubt, *more)
        )
    if rows:
        filled = [i for i in range(len(_COLUMNS)) if any(row[i] for row in rows)]
        print_table([_COLUMNS[i] for i in filled], [[row[i] for i in filled] for row in rows])
    sizes_in = "sizes as written" if _unit_open(found) else f"cut sizes in {_UNITS[unit]}"
    parts = count(sum(row.count for row in found.rows), "part")
    typer.echo(f"{parts} in {count(len(rows), 'row')}, {sizes_in}.")
    for remark in found.warnings:
        typer.echo(f"Look at line {remark.line}: {remark.says}.")
    for remark in found.unread:
        typer.echo(f"Not understood on line {remark.line}: {remark.says}.")
    for remark in found.ignored:
        typer.echo(f"No part on line {remark.line}: {remark.says}.")
    for question in found.questions:
        choices = " | ".join(_choices(question))
        typer.echo(f"Open, {question.id}: {_places(question)}: {question.unclear} [{choices}]")


def _unit_open(found: JobList) -> bool:
    """Whether it is still asked which unit bare figures have."""
    from stockyard.desk.job_list import UNIT

    return any(q.id == UNIT for q in found.questions)


def _choices(question: Question) -> list[str]:
    """Return what may be answered: the readings, and for a line the line anew or `skip`."""
    readings = [f"{r.key}: {r.says}" if r.key != r.says else r.key for r in question.readings]
    other = [question.or_else] if question.or_else else []
    return [*readings, *other, *(_OR_LINE if question.retype else ())]


def _exactly(ticks: int, unit: Unit) -> str:
    """Write a size in `unit`; in the other one, marked, when only that is exact."""
    text = show(ticks, unit)
    if "≈" in text:
        other = show(ticks, Unit.MM if unit is Unit.INCH else Unit.INCH, mark=True)
        return text if "≈" in other else other
    return text


def _note(part: JobPart, unit: Unit) -> str:
    if part.finished_length is None or part.finished_width is None:
        return part.note
    finished = f"finished {_exactly(part.finished_length, unit)} x {_exactly(part.finished_width, unit)}"
    return "; ".join(n for n in (finished, part.note) if n)


def _material(titles: tuple[str, ...] | None) -> str:
    if titles is None:
        return "any"
    return titles[0] if len(titles) == 1 else f"{titles[0]} or {len(titles) - 1} more"


def _agreed(name: str, found: JobList, person: TextIO | None) -> bool:
    """Ask before storing when somebody is there."""
    if person is None:
        return True
    typer.echo(f"Store these {sum(p.count for p in found.parts)} parts as the job '{name}'? [Y/n]", err=True)
    agreed = _reply(person).casefold() in ("", "y", "yes")
    if not agreed:
        typer.echo("Nothing was stored.", err=True)
    return agreed
