"""Tables for a spreadsheet: the stock, the jobs, their parts, the months, as CSV.

Lengths, areas and money are bare numbers in the shop's units, which the headings name.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator, Mapping, Sequence

from stockyard.desk import costs, jobs
from stockyard.desk.stock_list import Sieve, stock_list
from stockyard.errors import BadInput
from stockyard.figures import area_figure, area_unit
from stockyard.measure import MONEY, decimal
from stockyard.yard import Yard
from stockyard.yard.exchange import guard

Cell = str | int | float
Rows = Iterator[Sequence[Cell]]
_DAY = re.compile(r"\d{4}-\d\d(-\d\d)?")


def written(yard: Yard, table: str) -> bytes:
    """Return a table: stock, jobs, parts or months. It begins with a mark by which spreadsheets know UTF-8.

    Raises:
        BadInput: there is no such table.
    """
    make = _TABLES.get(table)
    if make is None:
        raise BadInput(f"there is no table '{table[:20]}': say {', '.join(_TABLES)}")
    out = io.StringIO()
    writer = csv.writer(out)
    with yard.reading():
        for row in make(yard):
            writer.writerow([_cell(cell) for cell in row])
    return out.getvalue().encode("utf-8-sig")


def _cell(cell: Cell) -> Cell:
    """Return a cell that no spreadsheet takes for a formula, nor a tag such as 12E45 for a number."""
    return cell if not isinstance(cell, str) or not cell or _DAY.fullmatch(cell) else guard(cell)


def _stock(yard: Yard) -> Rows:
    unit, money = yard.unit, yard.settings.currency
    yield ("tag", "kind", "material", f"length {unit}", f"width {unit}", f"thickness {unit}", "place", "job",
           "supplier", f"cost {money}", "note", "since")  # fmt: skip
    for p in stock_list(yard, Sieve()):
        sizes = (float(decimal(x, unit)) for x in (p.length, p.width, p.thickness))
        yield (p.tag, p.word, p.material, *sizes, p.place, p.job, p.supplier, p.cost / MONEY, p.note,
               p.shelved_at[:10])  # fmt: skip


def _jobs(yard: Yard) -> Rows:
    money = yard.settings.currency
    spent = costs.job_costs(yard)
    yield (
        "number",
        "job",
        "state",
        "added",
        "parts",
        "cut",
        f"cost {money}",
        "in its parts %",
        f"saved {money}",
    )
    for j in jobs.list_jobs(yard, finished=True):
        c = spent.get(j.number)
        paid: tuple[Cell, ...] = ("", "", "")
        if c is not None:
            paid = (c.cost / MONEY, round(c.yield_share * 100, 1), c.saved / MONEY)
        yield j.number, j.name, j.state, j.added[:10], j.parts, j.cut, *paid


def _parts(yard: Yard) -> Rows:
    unit = yard.unit
    yield ("job", "part", "count", "cut", f"length {unit}", f"width {unit}", "thickness", "material", "grain",
           "bands", "note")  # fmt: skip
    for j in jobs.list_jobs(yard, finished=True):
        for p in jobs.show_job(yard, str(j.number)).parts:
            yield (
                j.name, p.name, p.count, p.cut, float(decimal(p.length, unit)), float(decimal(p.width, unit)),
                p.thickness_name or "", " or ".join(p.materials or ()), p.grain.value, " ".join(p.bands),
                p.note,
            )  # fmt: skip


def _months(yard: Yard) -> Rows:
    unit, money = yard.unit, yard.settings.currency
    every = costs.month_costs(yard)
    yield ("month", *(f"{c.word} {u}" for c in every[0].columns for u in (area_unit(unit), money)))
    for m in every:
        sums = (c.sum for c in m.columns)
        yield (m.month, *(x for s in sums for x in (round(area_figure(s.area, unit), 3), s.money / MONEY)))


_TABLES: Mapping[str, Callable[[Yard], Rows]] = {
    "stock": _stock, "jobs": _jobs, "parts": _parts, "months": _months,
}  # fmt: skip
