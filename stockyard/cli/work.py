"""Work: jobs, pulling their pieces, and bringing back what is left."""

from __future__ import annotations

from typing import Annotated

import typer

from stockyard.cli.common import (
    AsJson,
    Commands,
    Later,
    Tag,
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

JobName = Annotated[str, typer.Argument(metavar="JOB", help="Its name, a start of it, or its number.")]
# Columns of the parts of a job that are shown even when they are empty.
_ALWAYS = 7


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_group(
        app,
        "jobs",
        "The jobs and their cut lists.",
        {"list": list_jobs, "show": show_job, "remove": remove_job},
    )
    commands: Commands = {
        "pull": pull, "bench": bench, "return": return_, "release": release, "gone": gone,
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
         p.thickness_name, " or ".join(p.materials) if p.materials else "any", p.grain,
         f"{p.set_name} {p.set_run}".strip(), p.batch, p.machine or found.machine,
         p.drawing or ("as drawn" if p.shaped else ""), p.then)
        for p in found.parts
    ]  # fmt: skip
    heads = (
        "part",
        "count",
        "cut",
        "size",
        "thickness",
        "material",
        "grain",
        "set",
        "batch",
        "cut on",
        "shape",
        "then",
    )
    shown = [i for i in range(len(heads)) if i < _ALWAYS or any(row[i] for row in rows)]
    print_table([heads[i] for i in shown], [[row[i] for i in shown] for row in rows])


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
            "--job",
            metavar="JOB",
            help="All that is still to pull for this job; with tags: pieces bought for it.",
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
    if done.tags:
        typer.echo(f"Pulled {', '.join(done.tags)}.")
    if done.already:
        typer.echo(f"At the saw already: {', '.join(done.already)}.")
    for taken, named in done.swapped:
        typer.echo(f"{taken} takes the place of {named or 'one still to buy'}, which is like it.")
    for name, left, at_saw in done.left:
        still = f"{left} still to pull" if left else "all pulled"
        typer.echo(f"{name}: {still}, {at_saw} at the saw.")


def gone(
    tag: Tag,
    why: Annotated[str, typer.Option("--why", help="missing, damaged, sold, ...")] = "missing",
    later: Later = False,
    file: YardFile = None,
) -> None:
    """Record that a piece is missing, damaged or given away; a plan that needed it is made again.

    Of one that is damaged in part only, the flaw is noted: measure --flaw.
    """
    from stockyard.cli.planned import plan_now
    from stockyard.desk import pulling

    with open_yard(file) as y:
        broken = pulling.gone(y, tag, why)
        typer.echo(f"Written off ({why}).")
        tell_broken((broken,), at_once=not later)
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


def return_(
    tags: Annotated[
        list[str] | None, typer.Argument(metavar="[TAG]...", help="Tags, or - to scan them in.")
    ] = None,
    at: Annotated[str | None, typer.Option("--at", "--to", metavar="PLACE", help="Where they go.")] = None,
    size: Annotated[str | None, typer.Option(help="Of one piece: as really measured.")] = None,
    everything: Annotated[
        bool, typer.Option("--all", help="All that wants a place, where its card or its old place says.")
    ] = False,
    file: YardFile = None,
) -> None:
    """Put pieces from the bench on a rack; one with its size as really measured, along the grain first."""
    from stockyard.desk import cutting, putting_away
    from stockyard.figures import size as written

    given = tags_given(tags or [])
    if everything and (given or at or size):
        raise BadInput("--all puts everything at its own place: say no tag, place or size with it")
    if not everything and (not given or at is None):
        raise BadInput("say which tags and --at PLACE, or --all")
    if size is not None and len(given) != 1:
        raise BadInput("a size is of one piece: say one tag with --size")
    with open_yard(file) as y:
        if size is not None:
            back = cutting.return_piece(y, given[0], at or "", size)
            away = putting_away.PutAway(pieces=(back.piece,), remarks=back.remarks, left=())
            tell_broken((back.broken,))
        elif everything:
            away = putting_away.put_all_away(y)
        else:
            away = putting_away.put_away(y, given, at or "")
        unit = y.unit
    for p in away.pieces:
        typer.echo(f"{p.tag}, {written(p.length, p.width, unit)}, is {p.says}.")
    tell_remarks(away.remarks)
    if away.left:
        left = ", ".join(away.left)
        typer.echo(f"No place suits {left}: say where with 'stockyard return TAG --at PLACE'.")


def release(
    job: JobName,
    why: Annotated[str, typer.Option(help="Why.")] = "not wanted",
    back: Annotated[
        bool, typer.Option("--back", help="Put all that was pulled back where it came from.")
    ] = False,
    file: YardFile = None,
) -> None:
    """Give up the plan of a job: its pieces are free again."""
    from stockyard.desk import jobs, putting_away

    with open_yard(file) as y:
        if back:
            cancelled = putting_away.cancel(y, job, why)
            typer.echo(f"Released plan {cancelled.plan} of {cancelled.job}.")
            for p in cancelled.pieces:
                typer.echo(f"Put {p.tag} back: it is {p.says}.")
            tell_left(cancelled.left, cancelled.job)
            return
        done = jobs.release(y, job, why)
    typer.echo(f"Released plan {done.plan} of {done.job}.")
    tell_left(done.on_bench, done.job)
