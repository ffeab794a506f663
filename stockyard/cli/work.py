"""Work: jobs, pulling their pieces, cutting them, and bringing back what is left."""

from __future__ import annotations

import re
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
    tell_left,
    tell_misfits,
)
from stockyard.errors import BadInput
from stockyard.wording import count

if TYPE_CHECKING:
    from stockyard.measure import Unit
    from stockyard.yard import Yard
    from stockyard.yard.cutting import CutDone
    from stockyard.yard.model import BrokenPlan, GivenOffcut, GivenPart, Piece

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
    from stockyard.yard import jobs, plans

    with open_yard(file) as y:
        found = jobs.jobs(y, finished=every)
        standing = {j.id: plans.standing_plan(y, j.id) for j in found}
        stands = {number: plan.state if plan else "" for number, plan in standing.items()}
        done = 0 if found or every else len(jobs.jobs(y))
    if as_json:
        print_json(found)
        return
    if done:
        typer.echo(f"No job is open; {count(done, 'job')} done: 'stockyard jobs list --all' shows them.")
        return
    rows = [
        (
            j.id,
            j.name,
            j.state,
            sum(p.count for p in j.parts),
            stands[j.id],
            j.created_at[:10],
        )
        for j in found
    ]
    print_table(("number", "job", "state", "parts", "plan", "added"), rows)


def show_job(job: JobName, file: YardFile = None, as_json: AsJson = False) -> None:
    """Show one job: its parts, how many are cut, and the text it was read from."""
    from stockyard.measure import show
    from stockyard.yard import jobs

    with open_yard(file) as y:
        found, unit = jobs.job(y, job), y.unit
        done = jobs.cut_so_far(y, found.id)
    if as_json:
        print_json({"job": found, "cut": dict(done)})
        return
    typer.echo(f"{found.name} ({found.state}, added {found.created_at[:10]})")
    rows = [
        (p.name, p.count, done[p.name] or "", f"{show(p.length, unit)} × {show(p.width, unit)}",
         p.thickness_name, " or ".join(p.materials) if p.materials else "any", p.grain)
        for p in found.parts
    ]  # fmt: skip
    print_table(("part", "count", "cut", "size", "thickness", "material", "grain"), rows)


def remove_job(job: JobName, yes: Yes = False, file: YardFile = None) -> None:
    """Remove a job that has no plan; its record stays in the ledger."""
    from stockyard.yard import jobs

    with open_yard(file) as y:
        found = jobs.job(y, job)
        if confirmed(f"Remove the job {found.name}?", yes):
            jobs.remove_job(y, found.id)
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
    from stockyard.yard import jobs, pulling

    with open_yard(file) as y:
        wanted = jobs.job(y, job) if job else None
        given = tags_given(tags or [])
        if wanted and not given:
            given = [p.tag for p in pulling.to_pull(y, wanted.id)]
        if not given:
            raise BadInput(f"nothing is left to pull for {wanted.name}" if wanted else "say a tag, or --job")
        done = pulling.pull(y, given, wanted.id if wanted else None)
        typer.echo(f"Pulled {', '.join(p.tag for p in done)}.")
        for name, left in _left_to_pull(y, done):
            typer.echo(f"{name}: {left} still to pull." if left else f"{name}: all pulled.")


def _left_to_pull(y: Yard, done: tuple[Piece, ...]) -> list[tuple[str, int]]:
    from stockyard.yard import jobs, plans, pulling

    job_ids = dict.fromkeys(plans.plan_by_id(y, p.plan_id).job_id for p in done if p.plan_id is not None)
    return [(jobs.job_by_id(y, j).name, len(pulling.to_pull(y, j))) for j in job_ids]


def gone(
    tag: Tag,
    why: Annotated[str, typer.Option("--why", help="missing, damaged, sold, ...")] = "missing",
    later: Annotated[bool, typer.Option("--later", help="Do not plan again now.")] = False,
    file: YardFile = None,
) -> None:
    """Record that a piece is missing, damaged or given away; a plan that needed it is made again."""
    from stockyard.yard import pulling

    with open_yard(file) as y:
        broken = pulling.report_gone(y, tag, why)
        typer.echo(f"Written off ({why}).")
    tell_broken((broken,) if broken else ())
    if broken and not later:
        from stockyard.cli.plan import plan

        plan(broken.job_name, yard=file)


def bench(file: YardFile = None, as_json: AsJson = False) -> None:
    """List what is off the racks: pieces at the saw for a job, and those that want a place."""
    from stockyard.desk.summary import size
    from stockyard.yard import pieces
    from stockyard.yard.model import State

    with open_yard(file) as y:
        found = pieces.on_hand(y, states=(State.BENCH, State.PULLED))
        titles, unit = pieces.titles(y), y.unit
        told = [pieces.told(y, p) if p.state is State.PULLED else "wants a place" for p in found]
    if as_json:
        print_json(found)
        return
    if not found:
        typer.echo("Nothing is off the racks.")
        return
    rows = [
        (p.tag, titles[p.material_id], p.kind, size(p.length, p.width, unit), what)
        for p, what in zip(found, told, strict=True)
    ]
    print_table(("tag", "material", "kind", "size", "is"), rows)


def tell_broken(broken: tuple[BrokenPlan, ...]) -> None:
    """Say which jobs must be planned again."""
    for b in broken:
        typer.echo(f"The plan of {b.job_name} needed {b.tag}: plan it again.")


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
    from stockyard.yard import cutting

    if (tag is None) == (job is None):
        raise BadInput("say the tag of the piece that was cut, or --job for all that was pulled for a job")
    if job and (parts or offcuts or no_offcuts):
        raise BadInput("say what one piece gave with its tag, not with --job")
    done = []
    with open_yard(file) as y:
        for one in [tag] if tag is not None else _pulled_for(y, job or ""):
            lefts = _offcuts(y, one, offcuts or []) if offcuts or no_offcuts else None
            given = _parts(y, parts) if parts else None
            done.append(cutting.confirm_cut(y, one, parts=given, offcuts=lefts))
            if not as_json:
                _tell_cut(done[-1], y.unit)
    if as_json:
        print_json(done if job else done[0])


def _pulled_for(y: Yard, job: str) -> list[str]:
    from stockyard.yard import jobs, plans
    from stockyard.yard.model import State
    from stockyard.yard.pieces import by_tag

    wanted = jobs.job(y, job)
    plan = plans.standing_plan(y, wanted.id)
    tags = [x.tag for x in plan.layouts if x.tag] if plan else []
    pulled = [t for t in tags if by_tag(y, t).state is State.PULLED]
    if not pulled:
        raise BadInput(f"nothing that was pulled for {wanted.name} is still to be cut: pull it first")
    return pulled


def _tell_cut(done: CutDone, unit: Unit) -> None:
    from stockyard.measure import show
    from stockyard.planning.written import area_text

    parts = count(sum(g.count for g in done.parts), "part")
    typer.echo(f"Cut {done.piece.tag}: {parts}, scrap {area_text(done.scrap, unit)} with kerf.")
    for p in done.offcuts:
        typer.echo(
            f"On the bench: {p.tag} {show(p.length, unit, mark=True)} × {show(p.width, unit, mark=True)}"
        )
    if done.plan_done:
        typer.echo("That was the last piece of the plan.")
    if done.missing:
        names = ", ".join(f"{n} × {name}" for name, n in done.missing)
        typer.echo(f"Still to be cut for the job: {names}. Plan it again.")


def _parts(y: Yard, words: list[str]) -> list[GivenPart]:
    from stockyard.yard.intake import read_size
    from stockyard.yard.model import GivenPart

    parts = []
    for word in words:
        number, _, rest = word.partition(":")
        name, _, size = rest.rpartition(":")
        if not re.fullmatch(r"[0-9]{1,6}", number.strip()) or not name.strip():
            raise BadInput(f"'{word[:40]}' is not COUNT:NAME:SIZE, such as 2:side:720 x 560")
        length, width = read_size(size, y.unit)
        parts.append(GivenPart(name=name.strip(), length=length, width=width, count=int(number)))
    return parts


def _offcuts(y: Yard, tag: str, words: list[str]) -> list[GivenOffcut]:
    """Return offcuts as measured; those planned lend their tags in order of size."""
    from stockyard.yard.cutting import with_planned_tags
    from stockyard.yard.intake import read_size
    from stockyard.yard.pieces import by_tag

    return with_planned_tags(y, by_tag(y, tag), [read_size(w, y.unit) for w in words])


def return_(
    tag: Tag,
    at: Annotated[str, typer.Option("--at", metavar="PLACE", help="Where it goes.")],
    size: Annotated[str | None, typer.Option(help="As really measured, along the grain first.")] = None,
    file: YardFile = None,
) -> None:
    """Put a piece from the bench on a rack, with its size as really measured."""
    from stockyard.measure import show
    from stockyard.yard import cutting, pieces, plans
    from stockyard.yard.intake import read_size

    with open_yard(file) as y:
        p = cutting.return_offcut(y, tag, at, read_size(size, y.unit) if size else None)
        shown = f"{show(p.length, y.unit, mark=True)} × {show(p.width, y.unit, mark=True)}"
        typer.echo(f"{p.tag}, {shown}, is {pieces.told(y, p)}.")
        tell_misfits(y, (p,))
        broken = plans.broken_plan(y, p)
        tell_broken((broken,) if broken else ())


def release(
    job: JobName, why: Annotated[str, typer.Option(help="Why.")] = "not wanted", file: YardFile = None
) -> None:
    """Give up the plan of a job: its pieces are free again."""
    from stockyard.yard import jobs, plans, pulling

    with open_yard(file) as y:
        found = jobs.job(y, job)
        plan = plans.standing_plan(y, found.id)
        if plan is None:
            raise BadInput(f"job {found.name} has no plan to release")
        pulled = pulling.pulled_for(y, found.id)
        plans.release_plan(y, plan.id, why)
        typer.echo(f"Released plan {plan.number} of {found.name}.")
        tell_left(y, pulled, found.name)
