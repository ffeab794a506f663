"""Buying and costs: what to order, what prices were, what jobs and months cost, plans side by side."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from stockyard.cli.common import AsJson, YardFile, add_commands, open_yard, terms_of
from stockyard.cli.tables import AsCsv, Cell, emit
from stockyard.errors import BadInput

if TYPE_CHECKING:
    from collections.abc import Sequence

    from stockyard.desk.costs import JobCost, MonthCost, Sum
    from stockyard.desk.lumber import LumberCost
    from stockyard.desk.planning import Alternative, Answer
    from stockyard.measure import Unit

JobName = Annotated[str, typer.Argument(metavar="JOB", help="The job's name or number.")]


def register(app: typer.Typer) -> None:
    """Add the commands to the application."""
    add_commands(
        app, {"reorder": reorder, "stock-up": stock_up, "cost": cost, "month": month, "compare": compare}
    )


def reorder(file: YardFile = None, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """List the materials to order now, and the least stock that their use suggests."""
    from stockyard.desk.buying import least_by_use
    from stockyard.desk.buying import reorder as to_order

    with open_yard(file) as y:
        found, by_use = to_order(y), least_by_use(y)
    if not found and not (as_json or as_csv):
        typer.echo("Nothing to order: no material is under its least stock.")
        return
    rows: list[list[Cell]] = [
        [r.material, r.count, r.lead_days, by_use.get(r.material), r.says] for r in found
    ]
    emit(
        ("material", "order at least", "days to wait", "least by use", "why"), rows,
        as_json=as_json, as_csv=as_csv,
    )  # fmt: skip


def stock_up(
    material: Annotated[list[str], typer.Argument(metavar="MATERIAL", help="Words that name it.")],
    file: YardFile = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """Compare the latest price of each size of a material with your own past ones. It tells no future."""
    from stockyard.desk.buying import stock_up as look_back
    from stockyard.figures import size
    from stockyard.measure import MONEY

    with open_yard(file) as y:
        found, currency, unit = look_back(y, " ".join(material)), y.settings.currency, y.unit
    rows: list[list[Cell]] = [
        [size(s.length, s.width, unit), p.day, round(float(p.per_unit) / MONEY, 4)]
        for s in found
        for p in s.prices
    ]
    emit(("size", "since", f"{currency} per {found[0].unit}"), rows, as_json=as_json, as_csv=as_csv)
    for s in () if as_json or as_csv else found:
        says = s.look.says if s.look else "only one price so far"
        typer.echo(f"{s.material} {size(s.length, s.width, unit)}: {says}.")


def cost(job: JobName, file: YardFile = None, as_json: AsJson = False, as_csv: AsCsv = False) -> None:
    """Show what a job's material cost: what was cut for it, what came back, what was scrapped."""
    from stockyard.desk.costs import cost_of, lumber_of_job, shaped_notes
    from stockyard.figures import area_unit

    with open_yard(file) as y:
        c, unit, currency = cost_of(y, job), y.unit, y.settings.currency
        lumber, notes = lumber_of_job(y, job), shaped_notes(y, job)
    lines: list[tuple[str, Sum]] = [
        ("full pieces drawn", c.drawn), ("offcuts used", c.reused), ("returned to the racks", c.returned),
        ("in parts", c.parts), ("scrapped", c.scrapped),
    ]  # fmt: skip
    rows: list[list[Cell]] = [[what, *_figures(s, unit)] for what, s in lines]
    rows += [[f"of it {line.says}", *_figures(line, unit)] for line in lumber]
    rows.append(["cost of the job", None, _money(c.cost)])
    rows.append(["saved by offcuts, at today's prices", None, _money(c.saved)])
    emit(("", f"area {area_unit(unit)}", currency), rows, as_json=as_json, as_csv=as_csv)
    if not (as_json or as_csv):
        typer.echo(f"{c.job}: {c.yield_share:.0%} of the material it consumed is in its parts.")
        for note in notes:
            typer.echo(note)


def month(
    when: Annotated[
        str | None, typer.Argument(metavar="[YYYY-MM]", help="The last month if left out.")
    ] = None,
    by_job: Annotated[
        bool, typer.Option("--jobs", help="What was cut in that month, job by job, in place of the months.")
    ] = False,
    pdf: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Also write one page with a chart.")
    ] = None,
    file: YardFile = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """Show what each month bought, used and scrapped, and what lay in the yard at its end."""
    from stockyard.desk.costs import (
        found_notes,
        lumber_notes,
        month_costs,
        month_jobs,
        month_pdf,
        shaped_notes,
    )
    from stockyard.whole import write_whole

    if when is not None and not re.fullmatch(r"\d{4}-(0[1-9]|1[0-2])", when):
        raise BadInput(f"'{when[:20]}' is not a month: write it as 2026-03")
    with open_yard(file) as y:
        rows, terms = month_costs(y, when), terms_of(y)
        last = rows[-1].month
        notes = (*found_notes(rows), *shaped_notes(y, month=last), *lumber_notes(y, last))
        page = month_pdf(y, when) if pdf is not None else b""
        cut = month_jobs(y, when) if by_job else ()
    if by_job and not (cut or as_json or as_csv):
        typer.echo(f"Nothing was cut in {rows[-1].month}.")
    elif by_job:
        _emit_jobs(cut, terms.unit, terms.currency, as_json=as_json, as_csv=as_csv)
    else:
        _emit_months(rows, terms.unit, terms.currency, as_json=as_json, as_csv=as_csv)
    for note in () if as_json or as_csv or by_job else notes:
        typer.echo(note)
    if pdf is not None:
        write_whole(pdf, page)
        typer.echo(f"Wrote {pdf}.", err=True)


def _emit_months(
    rows: Sequence[MonthCost], unit: Unit, currency: str, *, as_json: bool, as_csv: bool
) -> None:
    from stockyard.figures import area_unit

    headings = ["month", *(f"{c.word} {u}" for c in rows[0].columns for u in (area_unit(unit), currency))]
    table: list[list[Cell]] = [
        [m.month, *(f for c in m.columns for f in _figures(c.sum, unit))] for m in rows
    ]
    emit(headings, table, as_json=as_json, as_csv=as_csv)


def _emit_jobs(found: Sequence[JobCost], unit: Unit, currency: str, *, as_json: bool, as_csv: bool) -> None:
    from stockyard.figures import area_unit

    headings = ["job"]
    headings += [f"{n} {u}" for n in ("in parts", "scrapped") for u in (area_unit(unit), currency)]
    rows: list[list[Cell]] = [
        [c.job, *_figures(c.parts, unit), *_figures(c.scrapped, unit), _money(c.cost), _money(c.saved)]
        for c in found
    ]
    emit([*headings, f"cost {currency}", f"saved {currency}"], rows, as_json=as_json, as_csv=as_csv)


def compare(
    job: JobName,
    seconds: Annotated[float, typer.Option(min=0.1, max=86_400.0, help="For each of the three.")] = 5.0,
    seed: Annotated[int, typer.Option(min=0, help="Another seed may find other plans.")] = 0,
    take: Annotated[
        int | None, typer.Option(min=1, max=3, help="Promise the pieces of this one to the job.")
    ] = None,
    file: YardFile = None,
    as_json: AsJson = False,
    as_csv: AsCsv = False,
) -> None:
    """Plan a job for least new material, fewest pieces and largest leftover, side by side."""
    from stockyard.desk import planning

    with open_yard(file) as y:
        found = planning.compare(y, job, planning.How(seconds=seconds, seed=seed))
        terms = terms_of(y)
        _emit_plans(found, terms.unit, terms.currency, as_json=as_json, as_csv=as_csv)
        if take is not None:
            if take > len(found):
                raise BadInput(f"there are only {len(found)} different plans: take one of them")
            planning.take(y, found[take - 1].answer)
            typer.echo(f"Promised plan {take} to the job.", err=True)


def _emit_plans(
    found: Sequence[Alternative[Answer]], unit: Unit, currency: str, *, as_json: bool, as_csv: bool
) -> None:
    from stockyard.figures import area_figure, area_unit, size

    area = area_unit(unit)
    headings = (
        "plan", "for", "missing", f"drawn {currency}", f"to buy {currency}", "full pieces", "pieces", "moved",
        f"cut {area}", f"kept {area}", "largest kept", "cuts",
    )  # fmt: skip
    rows: list[list[Cell]] = [
        [
            n, " + ".join(a.reasons), f.missing, _money(f.money), _money(f.to_buy), f.full_pieces, f.pieces,
            f.moved, round(area_figure(f.used_area, unit), 4), round(area_figure(f.kept_area, unit), 4),
            size(*f.largest, unit, mark=False) if any(f.largest) else "none", f.cuts,
        ]
        for n, a in enumerate(found, 1)
        for f in (a.figures,)
    ]  # fmt: skip
    emit(headings, rows, as_json=as_json, as_csv=as_csv)


def _figures(s: Sum | LumberCost, unit: Unit) -> tuple[float, float]:
    from stockyard.figures import area_figure

    return round(area_figure(s.area, unit), 4), _money(s.money)


def _money(money: int) -> float:
    from stockyard.measure import MONEY

    return money / MONEY
