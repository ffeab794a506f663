"""Every label layout by its name, and a label sheet of the shop's own, described in words."""

from __future__ import annotations

import re

from stockyard.errors import BadInput
from stockyard.measure import Unit, parse
from stockyard.printing.edge_labels import Layout
from stockyard.printing.sheets import A4, LETTER, SHEETS, SheetLayout
from stockyard.printing.tapes import ROLL_62, TAPE_LAYOUTS, RollLayout

LAYOUTS: tuple[Layout, ...] = (*SHEETS, *TAPE_LAYOUTS, ROLL_62)
OWN = "own"
OWN_EXAMPLE = "page a4, 3 x 8, label 63.5 x 33.9, first 7.2 x 12.9, pitch 66 x 33.9"

_PAGES = {"a4": A4, "letter": LETTER}
_OWN = re.compile(
    r"page (?P<page>a4|letter|[^,]+? x [^,]+?), (?P<columns>\d{1,3}) x (?P<rows>\d{1,3}), "
    r"label (?P<label>[^,]+? x [^,]+?), first (?P<first>[^,]+? x [^,]+?), pitch (?P<pitch>[^,]+? x [^,]+?)"
)


def layout_named(name: str, own: str = "", unit: Unit = Unit.MM) -> Layout:
    """Return a layout by its name; `own` describes the one that is called own, bare figures in `unit`.

    Raises:
        BadInput: no such layout, or the shop's own is not described, or cannot be.
    """
    wanted = name.strip().lower()
    if wanted == OWN:
        return own_layout(own, unit)
    for layout in LAYOUTS:
        if layout.name == wanted:
            return layout
    raise BadInput(f"there is no label layout '{name[:40]}'", "no label layout")


def own_layout(text: str, unit: Unit) -> SheetLayout:
    """Return the label sheet described as in `OWN_EXAMPLE`: sizes across first, from the top left corner.

    Raises:
        BadInput: not written so, or labels that overlap or leave the page.
    """
    found = _OWN.fullmatch(" ".join(text.lower().replace("×", " x ").split()))
    if found is None:
        raise BadInput(f"own_label does not describe a label sheet: write it like '{OWN_EXAMPLE}'")
    page = _PAGES.get(found["page"]) or _pair(found["page"], unit)
    label, first, pitch = (_pair(found[part], unit) for part in ("label", "first", "pitch"))
    return SheetLayout(
        name=OWN,
        page=page,
        columns=int(found["columns"]),
        rows=int(found["rows"]),
        width=label[0],
        height=label[1],
        left=first[0],
        top=first[1],
        across=pitch[0],
        down=pitch[1],
    )


def _pair(text: str, unit: Unit) -> tuple[int, int]:
    sides = text.split(" x ")
    if len(sides) != 2:
        raise BadInput(f"'{text[:40]}' in own_label is not a size: write it like 63.5 x 33.9")
    across, down = (0 if re.fullmatch(r"0+(\.0+)?", side) else parse(side, unit) for side in sides)
    return across, down


def describe(layout: Layout, unit: Unit) -> str:
    """Return a layout in one line, sizes in `unit`."""
    if isinstance(layout, SheetLayout):
        return layout.describe(unit)
    if isinstance(layout, RollLayout):
        return f"roll {layout.width:g} mm wide, cut to length"
    widths = ", ".join(f"{tape.width:g}" for tape in layout.tapes)
    if len(layout.tapes) == 1:
        return f"tape {widths} mm, cut to length"
    return f"tape {widths} mm: the widest that each edge carries"
