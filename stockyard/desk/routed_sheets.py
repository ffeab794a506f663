"""From a routed plan to its sheets: files for the machine, and the sheets as plain data."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from stockyard.errors import BadInput
from stockyard.figures import typed_size
from stockyard.measure import TICKS_PER, TICKS_PER_INCH, TICKS_PER_MM, Unit
from stockyard.planning.plan import Layout, Leftover, Placement
from stockyard.planning.problem import Method, Part, Problem, Stock
from stockyard.printing.routed_sheet import DrawingRules, Outline, Remain, RoutedPart, RoutedSheet

# How far (mm) an outline may be from its part's size.
CLOSE = 0.01


def layouts_in(text: str) -> tuple[Layout, ...]:
    """Return the layouts of a plan file.

    Raises:
        ValueError, KeyError, TypeError: it is no such file.
    """
    data = json.loads(text, parse_float=Decimal)
    ticks = TICKS_PER[Unit(data["unit"])]

    def box(row: dict[str, Any]) -> tuple[int, int, int, int]:
        x, y, dx, dy = (round(Fraction(row[name]) * ticks) for name in ("x", "y", "dx", "dy"))
        return x, y, dx, dy

    return tuple(
        Layout(
            stock=lay["stock"],
            parts=tuple(Placement(p["id"], *box(p)) for p in lay["parts"]),
            cuts=(),
            leftovers=tuple(Leftover(*box(f)) for f in lay["leftovers"]),
        )
        for lay in data["layouts"]
    )


def routed_sheets(
    problem: Problem, layouts: Sequence[Layout], outlines: Mapping[str, Outline]
) -> tuple[RoutedSheet, ...]:
    """Return the sheets of a plan in order; `outlines` gives the shape of parts by their id.

    Raises:
        BadInput: the plan is not for a router or of another problem, or an outline has not its part's size.
    """
    if problem.method is not Method.ROUTER:
        raise BadInput("the problem is one for the saw: set its method to router and plan again")
    parts, stock = {p.id: p for p in problem.parts}, {s.id: s for s in problem.stock}
    for name, outline in outlines.items():
        if name not in parts:
            raise BadInput(f"outline of {name}: there is no such part in the problem")
        look_at_size(name, parts[name].length, parts[name].width, outline, problem.unit)
    copies: Counter[str] = Counter()
    sheets = (_sheet(n, lay, stock, parts, outlines, copies) for n, lay in enumerate(layouts, 1))
    return tuple(replace(sheet, bit=problem.kerf or None, one_pass=problem.one_pass) for sheet in sheets)


def sheet_files(sheets: Sequence[RoutedSheet], rules: DrawingRules, *, svg: bool) -> list[tuple[str, bytes]]:
    """Return a file for each sheet, named after it and its unit.

    Raises:
        BadInput: a layer name that the file can not hold.
    """
    from stockyard.printing.drawing_file import sheet_dxf, sheet_svg

    draw, ending = (sheet_svg, "svg") if svg else (sheet_dxf, "dxf")
    stems = (s.stem or "".join(c if c.isalnum() or c in " -_" else "_" for c in s.name) for s in sheets)
    return [(f"{stem} {rules.unit}.{ending}", draw(s, rules)) for stem, s in zip(stems, sheets, strict=True)]


def look_at_size(name: str, length: int, width: int, outline: Outline, unit: Unit) -> None:
    """See that an outline is as large as its part (ticks).

    Raises:
        BadInput: it is not.
    """

    def off(long: float, wide: float) -> bool:
        return max(abs(long - length / TICKS_PER_MM), abs(wide - width / TICKS_PER_MM)) > CLOSE

    long, wide = outline.length, outline.width
    if off(long, wide):
        one = TICKS_PER[unit] / TICKS_PER_MM
        has = " x ".join(f"{side / one:.4f}".rstrip("0").rstrip(".") for side in (long, wide))
        why = "; turn it by a quarter, so that its length lies along x" if not off(wide, long) else ""
        inch = TICKS_PER_INCH / TICKS_PER_MM
        if not off(long * inch, wide * inch) or not off(long / inch, wide / inch):
            why = "; is the drawing's unit mm or in?"
        raise BadInput(
            f"outline of {name}: it is {has} {unit}, "
            f"and the part is {typed_size(length, width, unit)} {unit}{why}"
        )


def _sheet(
    number: int,
    layout: Layout,
    stock: Mapping[str, Stock],
    parts: Mapping[str, Part],
    outlines: Mapping[str, Outline],
    copies: Counter[str],
) -> RoutedSheet:
    piece = stock.get(layout.stock)
    if piece is None or any(p.part not in parts for p in layout.parts):
        raise BadInput("the plan is not one of this problem: it names stock or parts that are not in it")
    laid = []
    for p in layout.parts:
        copies[p.part] += 1
        turned = (p.dx, p.dy) != (parts[p.part].length, parts[p.part].width)
        label = f"{p.part} {copies[p.part]}" if parts[p.part].count > 1 else p.part
        laid.append(
            RoutedPart(
                label=label, box=(p.x, p.y, p.dx, p.dy), turned=turned, outline=outlines.get(p.part)
            )
        )  # fmt: skip
    return RoutedSheet(
        name=f"sheet {number} {layout.stock}",
        material=piece.material,
        length=piece.length,
        width=piece.width,
        thickness=piece.thickness,
        grain=piece.grain,
        parts=tuple(laid),
        flaws=tuple((f.x, f.y, f.dx, f.dy) for f in piece.flaws),
        remains=tuple(Remain(box=(f.x, f.y, f.dx, f.dy)) for f in layout.leftovers),
    )
