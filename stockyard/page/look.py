"""Templates and words: values of the desk written as the shop reads them, every text escaped."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined

from stockyard import figures
from stockyard.desk.shown import FlawLine
from stockyard.flaws import said
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit, show
from stockyard.text import leaving
from stockyard.wording import count

ROOMS = (
    ("/", "Now"), ("/lists", "Cut list"), ("/plan", "Plan"), ("/pull", "Pull"), ("/saw", "Saw"),
    ("/racks", "Racks"), ("/books", "Books"),
)  # fmt: skip
KINDS: Mapping[str, str] = {
    "page.css": "text/css; charset=utf-8",
    "page.js": "text/javascript; charset=utf-8",
    "mark.svg": "image/svg+xml",
}


@dataclass(frozen=True, slots=True)
class Words:
    """Figures in the shop's unit and currency; `finest` is the finest fraction the fence is set to."""

    unit: Unit
    currency: str
    finest: int

    def size(self, length: int, width: int) -> str:
        """Write a size, length along the grain first."""
        return figures.size(length, width, self.unit, mark=False)

    def flaw(self, line: FlawLine) -> str:
        """Write a flaw: its size and where it begins."""
        return said(line.flaw, self.unit)

    def example(self, length: int, width: int = 0) -> str:
        """Write an example of a length or a size, given in millimetres, as the shop would type it."""
        step = TICKS_PER_INCH // 2 if self.unit is Unit.INCH else 10 * TICKS_PER_MM
        near = [max(step, round(mm * TICKS_PER_MM / step) * step) for mm in (length, width) if mm]
        return " x ".join(show(ticks, self.unit) for ticks in near)

    @property
    def example_list(self) -> str:
        """Write an example of a cut list in the shop's unit."""
        return f"2 sides {self.example(720, 560)}\n4 shelves {self.example(600, 300)}"

    def length(self, ticks: int) -> str:
        """Write a length without its unit."""
        return show(ticks, self.unit)

    def money(self, amount: int) -> str:
        """Write an amount."""
        return figures.money(amount, self.currency)

    def area(self, ticks: int) -> str:
        """Write an area with its unit."""
        return figures.area(ticks, self.unit)

    def weight(self, grams: int) -> str:
        """Write a weight with its unit."""
        return figures.weight(grams, self.unit)


@cache
def _environment() -> Environment:
    made = Environment(
        loader=PackageLoader("stockyard.page"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, auto_reload=False, finalize=_finalized,
    )  # fmt: skip
    made.globals["rooms"] = ROOMS
    made.globals["count"] = count
    made.filters["inurl"] = lambda text: quote(str(text), safe="")
    made.filters["day"] = lambda text: str(text)[:10]
    made.filters["clock"] = lambda text: f"{str(text)[:10]} {str(text)[11:16]}"
    return made


def _finalized(value: object) -> object:
    """Write what a browser might obey (marks that turn the direction of writing) as signs one can see."""
    if type(value) is str and not value.isprintable():
        return "\n".join(leaving(line) for line in value.split("\n"))
    return value


def written(template: str, values: Mapping[str, object]) -> str:
    """Return a page."""
    return _environment().get_template(template).render(**values)


@cache
def looks() -> Mapping[str, bytes]:
    """Return the few files that every page needs, read once: no path of a browser is ever opened."""
    folder = files("stockyard.page") / "static"
    return {name: (folder / name).read_bytes() for name in KINDS}
