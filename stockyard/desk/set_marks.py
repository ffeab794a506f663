"""Where matched sets lie in a plan: what labels say of each part, and which cuts take a set apart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from stockyard.desk.sets import Set, sets_of
from stockyard.desk.stored_layouts import layouts_of
from stockyard.kinds import Method
from stockyard.measure import Length
from stockyard.planning.plan import Layout, Placement
from stockyard.planning.problem import Group, Run
from stockyard.planning.verify_sets import copies_in
from stockyard.printing.papers import CutStep, DrawnPart, DrawnSet, Edge
from stockyard.settings import Settings
from stockyard.yard.model import Job
from stockyard.yard.planned import StoredPlan


@dataclass(frozen=True, slots=True)
class Copy:
    """One copy of a set on a piece: what it is called, and its parts as they lie, the first of them first."""

    title: str
    run: Run
    parts: tuple[Placement, ...]

    @property
    def box(self) -> tuple[int, int, int, int]:
        """x, y, dx, dy of the panel."""
        x, y = min(p.x for p in self.parts), min(p.y for p in self.parts)
        return (
            x, y, max(p.x + p.dx for p in self.parts) - x, max(p.y + p.dy for p in self.parts) - y,
        )  # fmt: skip

    def drawn(self) -> DrawnSet:
        """Return it for a cut card."""
        x, y, dx, dy = (Length(n) for n in self.box)
        first = self.parts[0]
        if self.run is Run.ACROSS:
            edge = Edge.Y_LOW if first.y == y else Edge.Y_HIGH
        else:
            edge = Edge.X_LOW if first.x == x else Edge.X_HIGH
        return DrawnSet(title=self.title, x=x, y=y, dx=dx, dy=dy, first=edge)


def copies_of(job: Job, plan: StoredPlan, settings: Settings) -> list[list[Copy]]:
    """Return the whole sets on each of the layouts of a plan; copies are numbered over all of them."""
    layouts = layouts_of(plan.layouts)
    kerfs = [settings.gap if x.method is Method.ROUTER else settings.kerf for x in plan.layouts]
    found: list[list[Copy]] = [[] for _ in layouts]
    for one in sets_of(job):
        number = 0
        for n, (layout, kerf) in enumerate(zip(layouts, kerfs, strict=True)):
            group = _group(one)
            for parts in copies_in(group, layout, kerf)[0]:
                number += 1
                in_order = tuple(p.part for p in parts) == group.members
                parts = parts if in_order else parts[::-1]
                title = one.name if one.count == 1 else f"{one.name} {_letter(number)}"
                found[n].append(Copy(title, one.run, tuple(parts)))
    return found


def _group(one: Set) -> Group:
    members = tuple(name for name, times in one.members for _ in range(times))
    return Group(id=one.name, run=one.run, members=members, count=one.count)


def _letter(number: int) -> str:
    return chr(ord("A") + number - 1) if number <= 26 else str(number)


def with_words(parts: Sequence[DrawnPart], copies: Sequence[Copy]) -> Iterator[DrawnPart]:
    """Yield parts of a layout with what is said of those in a set: "fronts 2 of 3, below 1"."""
    said = {(p.x, p.y): text for copy in copies for p, text in zip(copy.parts, _words(copy), strict=True)}
    for part in parts:
        yield replace(part, matched=said.get((part.x, part.y), ""))


def _words(copy: Copy) -> Iterator[str]:
    """Yield where each part belongs, as the drawing on its label lies: the length from left to right."""
    after, before = ("below", "above") if copy.run is Run.ACROSS else ("right of", "left of")
    n = len(copy.parts)
    for k in range(1, n + 1):
        beside = f", {after} {k - 1}" if k > 1 else f", {before} 2" if n > 1 else ""
        # A name that ends in a figure is kept apart from the number of the part: "set 1: 2 of 3".
        colon = ":" if copy.title[-1:].isdigit() else ""
        yield f"{copy.title}{colon} {k} of {n}{beside}"


def with_panels(
    steps: Sequence[CutStep], layout: Layout, length: int, width: int, kerf: int, copies: Sequence[Copy]
) -> tuple[CutStep, ...]:
    """Return the steps of a layout, each that begins to take a set apart with the name of that set."""
    apart = {}
    for copy in copies:
        if len(copy.parts) > 1 and (step := _apart(copy, layout, length, width, kerf)):
            apart[step] = copy.title
    return tuple(replace(s, panel=apart[s.number]) if s.number in apart else s for s in steps)


def _apart(copy: Copy, layout: Layout, length: int, width: int, kerf: int) -> int | None:
    """Return the step that divides a set: the last whose piece still holds all of it."""
    bench = {"stock": (0, 0, length, width)}
    found = None
    for cut in layout.cuts:
        x, y, dx, dy = bench[cut.piece]
        if _holds((x, y, dx, dy), copy.box):
            found = cut.step
        far = cut.at + kerf
        crosscut = cut.direction == "crosscut"
        low = (x, y, cut.at, dy) if crosscut else (x, y, dx, cut.at)
        high = (x + far, y, dx - far, dy) if crosscut else (x, y + far, dx, dy - far)
        bench |= {name: box for name, box in zip(cut.gives, (low, high), strict=True) if name}
    return found


def _holds(outer: tuple[int, int, int, int], inner: tuple[int, int, int, int]) -> bool:
    (ox, oy, odx, ody), (x, y, dx, dy) = outer, inner
    return ox <= x and oy <= y and x + dx <= ox + odx and y + dy <= oy + ody
