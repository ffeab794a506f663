"""Where ink goes on papers: `python -m tests.printing.as_drawn` writes the record of it.

The record holds the rows of a pull list (points) and part labels (millimetres) as they were when last looked
at on paper; whoever moves something there looks at the printed page and at what changes in the record.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Length, Unit, Weight
from stockyard.printing import pull_lines
from stockyard.printing.edge_labels import Layout
from stockyard.printing.marks import Line, Mark, Printed, Shape, Word
from stockyard.printing.output import Paper
from stockyard.printing.papers import BandLine, BuyLine, Lift, Lying, PullEntry
from stockyard.printing.part_labels import Arrow, PartLabel, place_part_labels
from stockyard.printing.sheets import SHEETS
from stockyard.printing.tapes import ROLL_62, TAPE_LAYOUTS
from tests.printing.label_samples import part_labels
from tests.printing.samples import normal_pull_list

KEPT = Path(__file__).parent.parent / "data" / "as_drawn.txt"


class Pen:
    """Stands in for a canvas: notes what is drawn, figures to a tenth of a point."""

    def __init__(self) -> None:
        self.ink: list[str] = []

    def __getattr__(self, name: str) -> Any:
        def noted(*given: object, **ways: object) -> None:
            words = (f"{g:.1f}" if isinstance(g, float | int) else str(g) for g in given)
            self.ink.append(" ".join((name, *words, *(f"{k}={v}" for k, v in ways.items()))))

        return noted

    def beginPath(self) -> Pen:
        return Pen()

    def drawPath(self, path: Pen, **_: object) -> None:
        self.ink.append(f"a path of {len(path.ink)}, first {path.ink[0]}, last {path.ink[-1]}")


def rows() -> Iterator[tuple[str, pull_lines.Row]]:
    """Yield rows of every kind, each with what it shows."""
    walk = normal_pull_list()
    sources = pull_lines.Sources(walk)
    first = walk.stops[0].entries[0]
    cart = Lift(
        weight=Weight(96_000), people=None, advice="not by hand: a cart or a hoist", source="the shop"
    )
    unknown = Lift(weight=None, people=None, advice="weigh one", source="")
    two = Lift(weight=Weight(31_000), people=2, advice="two people", source="")
    entries: dict[str, PullEntry] = {
        "as it is": first,
        "not by hand": replace(first, lift=cart, full=True),
        "not weighed": replace(first, lift=unknown, supplier="Mill Lane", thickness=Length(18 * MM)),
        "two people": replace(first, lift=two, material="sapele, quarter sawn, from the barn sale " * 2),
        "long advice": replace(
            first, lift=replace(two, advice="two people, gloves, the long way round " * 4)
        ),
        "long tag": replace(first, tag="S9WWWWWWWW", tell_apart="a knot at the end, " * 12),
    }
    for what, entry in entries.items():
        for unit in Unit:
            yield f"{what}, {unit}", pull_lines.EntryRow(entry, unit, 16, sources)
    lying = [Lying(tag=f"S{n}-Q7", what="birch ply", lift=two) for n in range(5)]
    for on_top in (lying[:1], lying[:2], lying, [*lying[:2], replace(lying[2], lift=cart)]):
        yield f"{len(on_top)} on top", pull_lines.LiftOffRow(tuple(on_top), Unit.MM, sources)
    yield "unknown on top", pull_lines.LiftOffRow((replace(lying[0], lift=unknown),), Unit.MM, sources)
    for back in ("Put back S1-Q7.", "Put back on top: " + ", ".join(lying[0].tag for _ in range(40)) + "."):
        yield f"{len(back)} letters to put back", pull_lines.PutBackRow(back)
    plain = BuyLine(count=2, material="oak 4/4", length=Length(2440 * MM), width=Length(180 * MM))
    priced = replace(plain, price="$61.00", supplier="Mill Lane " * 6)
    for line in (plain, replace(plain, price="$61.00"), priced, replace(priced, material="long oak " * 14)):
        yield f"to buy: {line.price} {line.supplier[:9]}", pull_lines.BuyRow(line, Unit.MM, 64)
    for what in ("2 mm beech", "a band of a long name, " * 9):
        band = BandLine(what=what, length=Length(12_340 * MM), width=Length(23 * MM))
        for unit in Unit:
            yield f"band, {unit}", pull_lines.BandRow(band, unit)


def labels() -> Iterator[tuple[str, tuple[Mark, ...]]]:
    """Yield part labels on labels of every size, each with its marks."""
    bare = PartLabel(
        job="Bench", part="lid", length=400 * MM, width=400 * MM, unit=Unit.MM, piece="", k=1, n=1
    )
    slim = replace(
        bare,
        part="a slat of a very long name, front",
        length=2000 * MM,
        width=20 * MM,
        cut=(2010 * MM, 22 * MM),
    )
    tall = replace(bare, length=200 * MM, width=900 * MM, bands=("L1", "W2"), band="2 mm oak", then="planed")
    given = [bare, slim, tall, *part_labels(5, seed=4)]
    sheets = [s for s in SHEETS if s.name in ("letter-30", "a4-65", "a4-8", "4x6")]
    layouts: list[Layout] = [*sheets, TAPE_LAYOUTS[0], ROLL_62]
    for layout in layouts:
        for n, label in enumerate(given):
            turned = replace(label, grain=list(Arrow)[n % 3])
            (placed,) = place_part_labels([turned], layout)
            for frame, marks in placed.design.pieces:
                at = f"{frame.x:.2f} {frame.y:.2f} {frame.width:.2f} {frame.height:.2f}"
                yield f"{layout.name}, '{label.part}' in {at}", tuple(marks)


def written(mark: Mark) -> str:
    """Return a mark as a line of the record."""
    match mark:
        case Word():
            return f"word {mark.x:.2f} {mark.y:.2f} cap {mark.cap:.2f} {mark.face} '{mark.text}'"
        case Line():
            ends = " ".join(f"{v:.2f}" for v in (*mark.start, *mark.end))
            return f"line {ends}, {mark.weight} {mark.dashes}"
        case Shape():
            return "shape " + ", ".join(f"{x:.2f} {y:.2f}" for x, y in mark.points)
        case Printed():
            return f"code {mark.x:.2f} {mark.y:.2f}"


def record() -> Iterator[str]:
    """Yield the whole record."""
    for what, row in rows():
        yield f"== {what}: {row.height(540.0):.2f} high"
        paper, pen = Paper((612.0, 792.0), "rows"), Pen()
        paper.canvas = pen
        row.draw(paper, 36.0, 700.0, 540.0)
        yield from pen.ink
    for what, marks in labels():
        yield f"== {what}"
        yield from map(written, marks)


if __name__ == "__main__":
    KEPT.write_text("\n".join(record()) + "\n", encoding="utf-8")
