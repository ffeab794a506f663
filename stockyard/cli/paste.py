"""`stockyard paste`: a scribbled list becomes a stored job, after it has been shown and asked about."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, TextIO

import typer

from stockyard.cli.asking import OR_LINE, ask_all, choices, places, reply_of
from stockyard.cli.common import AsJson, YardFile, Yes, open_yard, print_json, print_table
from stockyard.errors import BadInput, Refused
from stockyard.measure import Unit, parse, show
from stockyard.wording import count

if TYPE_CHECKING:
    from stockyard.desk.door import Yard
    from stockyard.desk.job_list import JobList, JobPart, Question
    from stockyard.desk.list_drafts import ListDraft


_COLUMNS = (
    "line", "count", "part", "length", "width", "thick", "material", "grain", "edges", "set",
    "batch",    "lumber", "note",
)  # fmt: skip
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
    draft: Annotated[
        str, typer.Option(metavar="NAME", help="Take up a list laid aside, with the answers given.")
    ] = "",
    as_json: AsJson = False,
    look: Annotated[bool, typer.Option("--look", help="Only show what is understood.")] = False,
    yes: Yes = False,
    yard: YardFile = None,
) -> None:
    """Read a cut list, show what it says, ask about what is unclear, and store it as a job.

    Nothing is guessed: with nobody there to answer, an open question ends it with 2 and the line and column.
    """
    with open_yard(yard) as open_file:
        from stockyard.desk.job_list import Ways, read_table
        from stockyard.desk.list_drafts import ListDraft, take_up

        if draft:
            if file or clipboard or edit:
                raise BadInput("one list at a time: --draft, or a new list")
            taken = take_up(open_file, draft)
            name, text, ways = job or taken.name, taken.text, taken.ways
        else:
            text = read_table(_source(file, clipboard, edit))
            name, ways = job or (file.stem if file and str(file) != "-" else ""), Ways()
        if not name and not look:
            raise BadInput("the job needs a name: say --job NAME")
        ways = replace(
            ways,
            unit=unit or ways.unit,
            answers={**ways.answers, **_answers(answer or ())},
            first=first or ways.first,
            finished=ways.finished if finished is None else finished,
            band_thickness=parse(band, unit or open_file.unit) if band else ways.band_thickness,
        )
        with ExitStack() as stack:
            person = None if yes else _person(stack)
            draft_now = ListDraft(name=name, text=text, ways=ways)
            _read(open_file, draft_now, person, as_json=as_json, look=look, yes=yes)


def _read(
    yard: Yard, draft: ListDraft, person: TextIO | None, *, as_json: bool, look: bool, yes: bool
) -> None:
    """Read, ask, show, and store unless only looked at; answers are kept when a person stops halfway."""
    from stockyard.desk.job_list import understand
    from stockyard.desk.jobs import add_job
    from stockyard.desk.list_drafts import drop
    from stockyard.figures import Terms

    found = understand(yard, draft.text, draft.ways)
    if person and found.questions:
        found, ways = ask_all(yard, draft.text, draft.ways, found, person)
        draft = replace(draft, ways=ways)
    print_json(found, Terms(found.unit, yard.settings.currency)) if as_json else _show(found)
    if found.questions:
        kept = _lay_aside(yard, draft) if person and not look else ""
        raise BadInput(_refusal(found.questions) + kept)
    if not found.parts:
        raise BadInput("the list holds no parts: nothing was stored")
    if look:
        return
    if _again(yard, draft, found, person, yes=yes):
        return
    parts = sum(p.count for p in found.parts)
    if person and not _agreed(f"Store these {parts} parts as the job '{draft.name}'?", person):
        typer.echo("Nothing was stored" + _lay_aside(yard, draft), err=True)
        return
    made = add_job(yard, draft.name, draft.text, found.parts)
    drop(yard, draft.name)
    if not as_json:
        typer.echo(f"Stored job {made.number} '{made.name}'. Next: stockyard plan '{made.name}'")


def _lay_aside(yard: Yard, draft: ListDraft) -> str:
    """Keep the list and its answers; return how to take it up again."""
    from stockyard.desk.list_drafts import lay_aside

    lay_aside(yard, draft)
    return f"; the answers are kept: take the list up again with stockyard paste --draft '{draft.name}'"


def _again(yard: Yard, draft: ListDraft, found: JobList, person: TextIO | None, *, yes: bool) -> bool:
    """Show how a list differs from the job of its name and, after yes, change the job; False: no such job.

    Raises:
        Refused: it holds the same parts, or nobody is there to say yes.
    """
    from stockyard.cli.planned import mend_now
    from stockyard.desk.job_change import take_list
    from stockyard.desk.list_again import against_job, told
    from stockyard.desk.list_drafts import drop

    again = against_job(yard, draft.name, found.parts)
    if again is None:
        return False
    if not again.difference:
        raise Refused(f"there is a job {again.job.name} already, and this list holds the same parts")
    for line in told(again.difference, found.unit):
        typer.echo(line)
    if person is None and not yes:
        raise Refused(
            f"there is a job {again.job.name} already, and this list differs as shown: say --yes to change "
            "that job, or give the list another name"
        )
    if person and not _agreed(f"Change the job '{again.job.name}' so?", person):
        typer.echo("Nothing was changed" + _lay_aside(yard, draft), err=True)
        return True
    done = take_list(yard, again, draft.text)
    drop(yard, draft.name)
    typer.echo(f"Changed job {done.number} '{done.name}'.")
    mend_now(yard, done)
    return True


def _agreed(question: str, person: TextIO) -> bool:
    """Ask before storing."""
    typer.echo(f"{question} [Y/n]", err=True)
    reply = reply_of(person)
    return reply is not None and reply.casefold() in ("", "y", "yes")


def _source(file: Path | None, clipboard: bool, edit: bool) -> bytes | Path:
    """Return the list's bytes, or the file that holds them."""
    from stockyard.cli.clipboard import from_clipboard, from_editor
    from stockyard.desk.job_list import LONGEST_TEXT

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


def _refusal(questions: Sequence[Question]) -> str:
    """Return the one line that says what is open, where, and how to answer."""
    question = questions[0]
    keys = "|".join([*(r.key for r in question.readings), *(OR_LINE if question.retype else ())])
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
        matched = f"{row.set_name} {row.set_run}".strip()
        more = (" ".join(row.bands), matched, row.batch, row.nominal or "", _note(part, unit))
        rows.append(
            (
                str(row.line),
                str(row.count),
                part.name,
                *sizes,
                _material(part.materials) + doubt,
                row.grain or "",
                *more,
            )
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
        answers = " | ".join(choices(question))
        typer.echo(f"Open, {question.id}: {places(question)}: {question.unclear} [{answers}]")


def _unit_open(found: JobList) -> bool:
    """Whether it is still asked which unit bare figures have."""
    from stockyard.desk.job_list import UNIT

    return any(q.id == UNIT for q in found.questions)


def _exactly(ticks: int, unit: Unit) -> str:
    """Write a size in `unit`; in the other one, marked, when only that is exact."""
    text = show(ticks, unit)
    if "≈" in text:
        other = show(ticks, Unit.MM if unit is Unit.INCH else Unit.INCH, mark=True)
        return text if "≈" in other else other
    return text


def _note(part: JobPart, unit: Unit) -> str:
    if part.rough:
        from stockyard.desk.allowances import rough_words

        rough = (
            f"rough {_exactly(part.length, unit)} x {_exactly(part.width, unit)}, {rough_words(part, unit)}"
        )
        return "; ".join(n for n in (rough, part.note) if n)
    if part.finished_length is None or part.finished_width is None:
        return part.note
    finished = f"finished {_exactly(part.finished_length, unit)} x {_exactly(part.finished_width, unit)}"
    return "; ".join(n for n in (finished, part.note) if n)


def _material(titles: tuple[str, ...] | None) -> str:
    if titles is None:
        return "any"
    return titles[0] if len(titles) == 1 else f"{titles[0]} or {len(titles) - 1} more"
