"""Work: jobs, pulling their pieces, cutting them, and bringing back what is left."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import (
    AsJson,
    Commands,
    YardFile,
    Yes,
    add_commands,
    add_group,
    confirmed,
    open_yard,
    print_json,
    print_table,
    tags_given,
    tell_broken,
    tell_left,
    tell_remarks,
    terms_of,
)
from stockyard.errors import BadInput
from stockyard.wording import count

if TYPE_CHECKING:
    from stockyard.desk.cutting import PieceCut
    from stockyard.measure import Unit

JobName = Annotated[str, typer.Argument(metavar="JOB", help="Its name, a start of it, or its number.")]
Tag = Annotated[str, typer.Argument(metavar="TAG", help="The tag on its label.")]


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_group(
        app,
        "jobs",
        "The jobs and their cut lists.",
        {"list": list_jobs, "show": show_job, "remove": remove_job},
    )
    commands: Commands = {
        "pull": pull, "cut": cut, "bench": bench, "return": return_, "release": release, "gone": gone,
    }  # fmt: skip
    add_commands(app, commands)


def list_jobs(
    every: Annotated[bool, typer.Option("--all", help="Finished ones too.")] = False,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """List the jobs."""
    from stockyard.desk import jobs

    with open_yard(file) as y:
        found = jobs.list_jobs(y, finished=every)
        done = 0 if found or every else len(jobs.list_jobs(y, finished=True))
    if as_json:
        print_json(found)
        return
    if done:
        typer.echo(f"No job is open; {count(done, 'job')} done: 'stockyard jobs list --all' shows them.")
        return
    rows = [(j.number, j.name, j.state, j.parts, j.plan, j.next, j.added[:10]) for j in found]
    print_table(("number", "job", "state", "parts", "plan", "next", "added"), rows)


def show_job(job: JobName, file: YardFile = None, as_json: AsJson = False) -> None:
    """Show one job: its parts, how many are cut, and the text it was read from."""
    from stockyard.desk import jobs
    from stockyard.figures import size

    with open_yard(file) as y:
        found, terms = jobs.show_job(y, job), terms_of(y)
    if as_json:
        print_json(found, terms)
        return
    typer.echo(f"{found.line.name} ({found.line.state}, added {found.line.added[:10]})")
    rows = [
        (p.name, p.count, p.cut or "", size(p.length, p.width, terms.unit, mark=False),
         p.thickness_name, " or ".join(p.materials) if p.materials else "any", p.grain)
        for p in found.parts
    ]  # fmt: skip
    print_table(("part", "count", "cut", "size", "thickness", "material", "grain"), rows)


def remove_job(job: JobName, yes: Yes = False, file: YardFile = None) -> None:
    """Remove a job that has no plan; its record stays in the ledger."""
    from stockyard.desk import jobs

    with open_yard(file) as y:
        found = jobs.show_job(y, job).line
        if confirmed(f"Remove the job {found.name}?", yes):
            jobs.remove_job(y, str(found.number))
            typer.echo(f"Removed {found.name}.")


def pull(
    tags: Annotated[
        list[str] | None, typer.Argument(metavar="[TAG]...", help="Tags taken to the saw, or - to scan.")
    ] = None,
    job: Annotated[
        str | None,
        typer.Option(
            "--job", help="All that is still to pull for this job; with tags: pieces bought for it."
        ),
    ] = None,
    file: YardFile = None,
) -> None:
    """Tick off pieces as taken to the saw."""
    from stockyard.desk import pulling

    if not tags and not job:
        raise BadInput("say a tag, or --job")
    with open_yard(file) as y:
        done = pulling.pull(y, tags_given(tags or []), job)
    typer.echo(f"Pulled {', '.join(done.tags)}.")
    for name, left in done.left:
        typer.echo(f"{name}: {left} still to pull." if left else f"{name}: all pulled.")


def gone(
    tag: Tag,
    why: Annotated[str, typer.Option("--why", help="missing, damaged, sold, ...")] = "missing",
    later: Annotated[bool, typer.Option("--later", help="Do not plan again now.")] = False,
    file: YardFile = None,
) -> None:
    """Record that a piece is missing, damaged or given away; a plan that needed it is made again."""
    from stockyard.cli.planned import plan_now
    from stockyard.desk import pulling

    with open_yard(file) as y:
        broken = pulling.gone(y, tag, why)
        typer.echo(f"Written off ({why}).")
        tell_broken((broken,))
        if broken is not None and not later:
            plan_now(y, str(broken.job_id))


def bench(file: YardFile = None, as_json: AsJson = False) -> None:
    """List what is off the racks: pieces at the saw for a job, and those that want a place."""
    from stockyard.desk import pulling
    from stockyard.figures import caliper, size

    with open_yard(file) as y:
        found, terms = pulling.bench(y), terms_of(y)
    if as_json:
        print_json(found, terms)
        return
    if not found:
        typer.echo("Nothing is off the racks.")
        return
    rows = [
        (
            p.tag,
            p.material,
            p.word,
            size(p.length, p.width, terms.unit),
            caliper(p.thickness, terms.unit),
            p.supplier,
            p.says if p.job else "wants a place",
        )
        for p in found
    ]
    print_table(("tag", "material", "kind", "size", "thick", "from", "is"), rows)


def cut(
    tag: Annotated[str | None, typer.Argument(metavar="[TAG]", help="The tag on its label.")] = None,
    parts: Annotated[
        list[str] | None,
        typer.Option(
            "--part", metavar="COUNT:NAME:SIZE", help="A part, if not as planned: '2:side:720 x 560'."
        ),
    ] = None,
    offcuts: Annotated[
        list[str] | None,
        typer.Option("--offcut", metavar="SIZE", help="An offcut as measured, if not as planned."),
    ] = None,
    no_offcuts: Annotated[bool, typer.Option("--no-offcuts", help="All that was left is scrap.")] = False,
    job: Annotated[
        str | None, typer.Option("--job", help="All that was pulled for this job, as planned.")
    ] = None,
    file: YardFile = None,
    as_json: AsJson = False,
) -> None:
    """Confirm that a piece was cut, as planned unless told otherwise."""
    from stockyard.desk import cutting

    if (tag is None) == (job is None):
        raise BadInput("say the tag of the piece that was cut, or --job for all that was pulled for a job")
    if job and (parts or offcuts or no_offcuts):
        raise BadInput("say what one piece gave with its tag, not with --job")
    with open_yard(file) as y:
        terms = terms_of(y)
        if job is not None:
            done = cutting.cut_job(y, job)
        else:
            lefts = offcuts or [] if offcuts or no_offcuts else None
            done = (cutting.cut(y, tag or "", parts=parts or None, offcuts=lefts),)
    if as_json:
        print_json(done if job else done[0], terms)
        return
    for one in done:
        _tell_cut(one, terms.unit)


def _tell_cut(done: PieceCut, unit: Unit) -> None:
    from stockyard.figures import area, size

    parts = count(sum(g.count for g in done.parts), "part")
    typer.echo(f"Cut {done.piece.tag}: {parts}, scrap {area(done.scrap, unit)} with kerf.")
    for p in done.offcuts:
        typer.echo(f"On the bench: {p.tag} {size(p.length, p.width, unit)}")
    if done.plan_done:
        typer.echo("That was the last piece of the plan.")
    if done.missing:
        names = ", ".join(f"{n} × {name}" for name, n in done.missing)
        typer.echo(f"Still to be cut for the job: {names}. Plan it again.")


def return_(
    tag: Tag,
    at: Annotated[str, typer.Option("--at", metavar="PLACE", help="Where it goes.")],
    size: Annotated[str | None, typer.Option(help="As really measured, along the grain first.")] = None,
    file: YardFile = None,
) -> None:
    """Put a piece from the bench on a rack, with its size as really measured."""
    from stockyard.desk import cutting
    from stockyard.figures import size as written

    with open_yard(file) as y:
        back, unit = cutting.return_piece(y, tag, at, size), y.unit
    p = back.piece
    typer.echo(f"{p.tag}, {written(p.length, p.width, unit)}, is {p.says}.")
    tell_remarks(back.remarks)
    tell_broken((back.broken,))


def release(
    job: JobName, why: Annotated[str, typer.Option(help="Why.")] = "not wanted", file: YardFile = None
) -> None:
    """Give up the plan of a job: its pieces are free again."""
    from stockyard.desk import jobs

    with open_yard(file) as y:
        done = jobs.release(y, job, why)
    typer.echo(f"Released plan {done.plan} of {done.job}.")
    tell_left(done.on_bench, done.job)
