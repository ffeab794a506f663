"""What jobs and months cost: the yard's flows as amounts, and the tables and the page made of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from stockyard.advice.costs import Amount, Flow, JobCost, MonthCost, Sum, job_cost, months, split_cost
from stockyard.desk.keep_advice import price_per_area
from stockyard.desk.lumber import LumberCost, of_job, of_month
from stockyard.errors import BadInput
from stockyard.figures import area_figure, area_unit, money
from stockyard.kinds import Kind
from stockyard.measure import Area, Money
from stockyard.printing.month_report import Line, MonthBars, MonthReport, draw_month
from stockyard.printing.page import page_size
from stockyard.yard.flows import CutPiece, Movement, arrivals, cut_pieces, departures
from stockyard.yard.jobs import job, jobs, named_parts
from stockyard.yard.materials import materials
from stockyard.yard.model import Job
from stockyard.yard.store import Yard

__all__ = [
    "JobCost", "MonthCost", "Sum", "amounts", "cost_of", "found_notes", "job_costs", "lumber_notes",
    "lumber_of_job", "month_costs",
    "month_jobs", "month_page", "month_pdf", "shaped_notes",
]  # fmt: skip


# So many parts are named where shaped ones are told.
_MOST_NAMES = 5


def amounts(yard: Yard) -> tuple[Amount, ...]:
    """Return every amount of the ledger; together they are what lies in the yard now."""
    prices = {m.id: price_per_area(yard, m) or 0.0 for m in materials(yard)}
    titles = {m.id: m.title for m in materials(yard)}
    found = [_moved(m, titles, came=True) for m in arrivals(yard)]
    found += [_moved(m, titles, came=False) for m in departures(yard)]
    for piece in cut_pieces(yard):
        found += _cut(piece, titles[piece.material_id], prices[piece.material_id])
    return tuple(found)


def _moved(m: Movement, titles: dict[int, str], *, came: bool) -> Amount:
    flow = Flow.GONE if not came else Flow.BOUGHT if m.kind is Kind.FULL else Flow.FOUND
    return Amount(
        flow=flow, day=m.at[:10], area=Area(m.area), money=Money(m.cost), material=titles[m.material_id]
    )


def _cut(piece: CutPiece, title: str, price: float) -> list[Amount]:
    """Return what one cut took and gave; what the parts and the scrap carry is shared by their areas.

    So is each amount among the jobs, where one plan served several.
    """
    offcut = piece.kind is Kind.OFFCUT
    rest = piece.parts_area + piece.scrap
    parts_money, scrap_money = (
        split_cost(piece.parts_cost, (piece.parts_area, piece.scrap)) if rest else (0, 0)
    )
    out = (
        (Flow.REUSED if offcut else Flow.DRAWN, piece.area, piece.cost),
        (Flow.PARTS, piece.parts_area, parts_money),
        (Flow.SCRAPPED, piece.scrap, scrap_money),
        (Flow.RETURNED, piece.offcuts_area, piece.cost - parts_money - scrap_money),
    )
    new = round(price * piece.parts_area) if offcut else 0
    whose = piece.shares or ((piece.job_id, 1),)
    by_area = [area for _, area in whose]
    return [
        Amount(
            flow=flow, day=piece.at[:10], area=Area(area), money=Money(money), material=title,
            job=job, from_offcut=offcut, new_price=Money(worth if flow is Flow.PARTS else 0),
        )
        for flow, area, money in out
        for (job, _), area, money, worth in zip(
            whose, split_cost(area, by_area), split_cost(money, by_area), split_cost(new, by_area),
            strict=True,
        )
    ]  # fmt: skip


def cost_of(yard: Yard, name: str) -> JobCost:
    """Return what one job cost so far; jobs planned together, each its share of a piece by area.

    Raises:
        BadInput: no such job.
    """
    with yard.reading():
        wanted, every = _of_job(yard, name)
        return job_cost(wanted.id, wanted.name, every)


def lumber_of_job(yard: Yard, name: str) -> tuple[LumberCost, ...]:
    """Return the boards that a job used up, what they cost and what a board foot of them did.

    Raises:
        BadInput: no such job.
    """
    with yard.reading():
        wanted, every = _of_job(yard, name)
        return of_job(yard, wanted.id, every)


def _of_job(yard: Yard, name: str) -> tuple[Job, tuple[Amount, ...]]:
    """Return a job and all amounts; of one that several were joined to, theirs are its own."""
    wanted, every = job(yard, name), amounts(yard)
    if wanted.members:
        every = tuple(replace(a, job=wanted.id) for a in every if a.job in wanted.members)
    return wanted, every


def lumber_notes(yard: Yard, month: str) -> tuple[str, ...]:
    """Return a sentence for each material of boards bought in a month: how much, at what a board foot."""
    with yard.reading():
        return tuple(f"Bought in {month}: {line.says}." for line in of_month(yard, month, amounts(yard)))


def month_costs(yard: Yard, month: str | None = None) -> tuple[MonthCost, ...]:
    """Return all months up to `month` (or to the last with an entry), oldest first.

    Raises:
        BadInput: the ledger has nothing for that month, or nothing at all.
    """
    with yard.reading():
        return _up_to(months(amounts(yard)), month)


def _up_to(every: tuple[MonthCost, ...], month: str | None) -> tuple[MonthCost, ...]:
    """Return the months up to one, or all; errors as `month_costs`."""
    if not every:
        raise BadInput("the ledger is empty: shelve something first")
    if month is None:
        return every
    found = tuple(m for m in every if m.month <= month)
    if not found or found[-1].month != month:
        raise BadInput(
            f"the ledger has nothing for {month[:20]}: it has {every[0].month} to {every[-1].month}"
        )
    return found


def found_notes(rows: Sequence[MonthCost]) -> tuple[str, ...]:
    """Return a sentence where less than nothing left uncut, for the months of that."""
    found = [m.month for m in rows if m.gone.area < 0 or m.gone.money < 0]
    if not found:
        return ()
    return (
        f"Left uncut is below nothing in {', '.join(found)}: more offcuts came in, measured by hand, than "
        "pieces left the yard uncut.",
    )


def shaped_notes(yard: Yard, job_name: str = "", month: str = "") -> tuple[str, ...]:
    """Return a sentence on the shaped parts of a job, or of all that was cut in a month or ever, if any.

    Raises:
        BadInput: no such job.
    """
    with yard.reading():
        if job_name:
            found = [job(yard, job_name)]
        else:
            cut = {a.job for a in amounts(yard) if a.flow is Flow.PARTS and a.day.startswith(month)}
            found = [j for j in jobs(yard) if j.id in cut]
        names = [name for j in found for name, part in named_parts(j) if part.outline]
    if not names:
        return ()
    named = ", ".join(names[:_MOST_NAMES]) + (" and others" if len(names) > _MOST_NAMES else "")
    return (
        f"Shaped parts ({named}) count as the rectangles they are cut from: what is cut away within those is "
        "in their area and cost, not in what is scrapped.",
    )


def month_pdf(yard: Yard, month: str | None = None) -> bytes:
    """Return a page about one month, or the last, as a PDF; errors as `month_costs`."""
    with yard.reading():
        page, paper = month_page(yard, month_costs(yard, month)), yard.settings.paper
    return draw_month(page, page_size(paper))


def month_page(yard: Yard, rows: Sequence[MonthCost]) -> MonthReport:
    """Return the page of the last month of `rows`, with the months before it in the chart."""
    unit, currency = yard.unit, yard.settings.currency
    last = rows[-1]
    return MonthReport(
        title=f"Material, {last.month}",
        area_unit=area_unit(unit),
        lines=tuple(
            Line(
                c.says,
                f"{area_figure(c.sum.area, unit):,.2f} {area_unit(unit)}",
                money(c.sum.money, currency),
            )
            for c in last.columns
        ),
        months=tuple(
            MonthBars(
                month=m.month,
                bought=area_figure(m.bought.area, unit),
                used=area_figure(m.used.area, unit),
                scrapped=area_figure(m.scrapped.area, unit),
                racks=area_figure(m.racks.area, unit),
            )
            for m in rows
        ),
        notes=(
            "Every figure is added up from the ledger; money is the carried cost of the material.",
            *found_notes(rows[-1:]),
            *shaped_notes(yard, month=last.month),
            *lumber_notes(yard, last.month),
        ),
    )


def job_costs(yard: Yard) -> dict[int, JobCost]:
    """Return what each job cost so far that anything was cut for, by its number."""
    with yard.reading():
        return _by_job(jobs(yard), amounts(yard))


def _by_job(known: Iterable[Job], every: Iterable[Amount]) -> dict[int, JobCost]:
    by_job: dict[int, list[Amount]] = {}
    for amount in every:
        if amount.job is not None:
            by_job.setdefault(amount.job, []).append(amount)
    names = {j.id: j.name for j in known}
    return {n: job_cost(n, names[n], found) for n, found in by_job.items() if n in names}


def month_jobs(yard: Yard, month: str | None = None) -> tuple[JobCost, ...]:
    """Return what was cut in a month (or in the last with an entry) job by job, then for none of them.

    Jobs planned together have each its share by area; parts and scrap of all add up to the month's.
    Errors as `month_costs`.
    """
    with yard.reading():
        every, known = amounts(yard), jobs(yard)
    last = _up_to(months(every), month)[-1].month
    own = [a for a in every if a.day[:7] == last]
    found = _by_job(known, own)
    theirs = {j.id for j in known}
    others = job_cost(0, "no job", [replace(a, job=0) for a in own if a.job not in theirs])
    rest = (others,) if (others.parts, others.scrapped) != (Sum(), Sum()) else ()
    return (*sorted(found.values(), key=lambda c: c.job.casefold()), *rest)
