"""Edge bands of a job: in words for labels and cards, and how much of each is needed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping

from stockyard.bands import strip_length
from stockyard.desk.allowances import rough_words
from stockyard.figures import size
from stockyard.measure import TICKS_PER_MM, Length, Unit, show
from stockyard.printing.papers import BandLine
from stockyard.yard.jobs import named_parts
from stockyard.yard.model import Job, JobPart, Material, State
from stockyard.yard.pieces import by_tag
from stockyard.yard.planned import StoredPlan
from stockyard.yard.store import Yard

# A strip stands over both faces and is trimmed flush: 22 mm tape for 19 mm (common practice, no source).
OVER_FACES = 3 * TICKS_PER_MM


def finished_size(part: JobPart) -> tuple[int, int] | None:
    """Return the size of a part with its bands on, in ticks; None where that is the size it is cut to."""
    size = part.finished_length or part.length, part.finished_width or part.width
    return size if size != (part.length, part.width) else None


def band_words(part: JobPart, unit: Unit) -> str:
    """Say what a part is banded with: "band oak 1 mm", empty where nobody said."""
    thick = "" if part.band_thickness is None else show(part.band_thickness, unit, mark=True)
    own = " ".join(word for word in (part.band_material, thick) if word)
    return f"band {own}" if part.bands and own else ""


def banded_edges(part: JobPart, unit: Unit) -> str:
    """Say the bands of a part and where: "band oak 1 mm on both along its length", empty for none."""
    sides = (("both" if n == 2 else str(n)) + f" {name}" for n, name in _sides(part) if n)
    return f"{band_words(part, unit) or 'band'} on {' and '.join(sides)}" if part.bands else ""


def after_saw(part: JobPart, unit: Unit, finest: int = 64) -> str:
    """Say what a part becomes after the saw: "finished 704 × 304, band oak 1 mm on both along its length".

    Empty where it is as sawn. Its trimmed size stands before the finished one, where there are both.
    """
    finished, milled = finished_size(part), rough_words(part, unit, finest)
    if finished is None or (milled and finished == part.trimmed):
        whole = ""
    else:
        whole = f"finished {size(*finished, unit, mark=False, finest=finest)}"
    return ", ".join(text for text in (milled, whole, banded_edges(part, unit)) if text)


def _sides(part: JobPart) -> tuple[tuple[int, str], tuple[int, str]]:
    """Return how many edges along the length and along the width are banded, as the shop calls them."""
    along, across = (sum(edge.startswith(side) for edge in part.bands) for side in "LW")
    return (along, "along its length"), (across, "along its width")


def bands_needed(
    yard: Yard, job: Job, plan: StoredPlan, known: Mapping[int, Material]
) -> tuple[BandLine, ...]:
    """Return the band that the parts still to be cut take, a line for each band and panel thickness.

    Each strip is cut longer at both ends by the shop's `band_over`.
    """
    wanted = dict(named_parts(job))
    over = yard.settings.band_over
    needed: Counter[tuple[str, int]] = Counter()
    for layout in plan.layouts:
        if plan.state == "done" or (layout.tag and by_tag(yard, layout.tag).state is State.CUT):
            continue
        panel = known[layout.material_id].thickness
        for placed in layout.placed:
            part = wanted[placed.name]
            if part.bands:
                whole = finished_size(part) or (part.length, part.width)
                what = band_words(part, yard.unit) or "edge band"
                needed[what, panel] += strip_length(*whole, part.bands, over)
    return tuple(
        BandLine(what=what, length=Length(length), width=Length(panel + OVER_FACES))
        for (what, panel), length in sorted(needed.items())
    )
