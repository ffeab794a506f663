"""The verifier's look at the saw: every cut replayed in whole numbers, and the order of work.

From the contract alone, as `verify.py`.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from stockyard.planning.plan import Cut, Layout, Plan
from stockyard.planning.problem import Part, Stock
from stockyard.planning.verify_fit import Rect


def part_of(name: str, parts: dict[str, Part]) -> str | None:
    """Return the part of which `name` is a copy ('side 2'), None when it is none."""
    part, _, copy = name.rpartition(" ")
    known = parts.get(part)
    return part if known and copy.isdecimal() and 1 <= int(copy) <= known.count else None


class Replay:
    """Cuts one layout as its steps say and compares the bench with what the layout lists."""

    def __init__(
        self, kerf: int, piece: Stock, layout: Layout, parts: dict[str, Part], names: Counter[str]
    ) -> None:
        self._kerf = kerf
        self._layout = layout
        self._parts = parts
        self._names = names
        self._bench: dict[str, Rect] = {"stock": (0, 0, piece.length, piece.width)}
        self._given = {"stock"}

    def faults(self) -> list[str]:
        """Return what is wrong with the cuts, each fault in one line."""
        found: list[str] = []
        for number, cut in enumerate(self._layout.cuts, 1):
            if cut.step != number:
                found.append(f"step {cut.step} stands where step {number} belongs")
            found += [f"step {number}: {fault}" for fault in self._saw(cut)]
        return found + list(self._compare())

    def _saw(self, cut: Cut) -> Iterator[str]:
        box = self._bench.pop(cut.piece, None)
        if box is None:
            known = cut.piece in self._given
            yield f"'{cut.piece}' is cut already" if known else f"there is no piece '{cut.piece}'"
            return
        if cut.direction not in ("crosscut", "rip"):
            yield f"'{cut.direction}' is no direction"
            return
        if cut.piece != "stock" and (cut.piece in self._parts or part_of(cut.piece, self._parts)):
            yield f"'{cut.piece}' is cut on but has the name of a part"
        x, y, dx, dy = box
        crosscut = cut.direction == "crosscut"
        size = dx if crosscut else dy
        if not -self._kerf < cut.at < size:
            yield f"the blade misses '{cut.piece}'"
        low, high, far = cut.at, size - cut.at - self._kerf, cut.at + self._kerf
        if cut.fence not in (low, high) or cut.fence <= 0:
            yield "the fence is set to the size of neither side"
        if len(cut.gives) != 2:
            yield "gives must name two sides"
            return
        yield from self._lay(cut.gives[0], (x, y, low, dy) if crosscut else (x, y, dx, low))
        yield from self._lay(cut.gives[1], (x + far, y, high, dy) if crosscut else (x, y + far, dx, high))

    def _lay(self, name: str | None, half: Rect) -> Iterator[str]:
        if name is None:
            return
        if name in self._given:
            yield f"the name '{name}' is used twice"
        elif half[2] <= 0 or half[3] <= 0:
            yield f"'{name}' is given but nothing is left on that side"
        else:
            self._given.add(name)
            self._bench[name] = half

    def _compare(self) -> Iterator[str]:
        """Every rectangle on the bench is one listed part or leftover, and the other way round."""
        parts = {(p.x, p.y, p.dx, p.dy): p.part for p in self._layout.parts}
        kept = {(f.x, f.y, f.dx, f.dy) for f in self._layout.leftovers}
        for name, box in self._bench.items():
            if box in parts:
                yield from self._copy(name, parts.pop(box))
            elif box in kept:
                kept.discard(box)
                if part_of(name, self._parts):
                    yield f"the leftover '{name}' has the name of a part"
            else:
                yield f"'{name}' lies on the bench but is neither part nor leftover"
        for part in parts.values():
            yield f"part '{part}' does not lie on the bench after the last cut"
        if kept:
            yield f"{len(kept)} listed leftovers do not lie on the bench after the last cut"

    def _copy(self, name: str, part: str) -> Iterator[str]:
        """A part on the bench is called after itself; a piece that is a part uncut keeps its own name."""
        if name == "stock":
            return
        if part_of(name, self._parts) != part:
            yield f"a part '{part}' is called '{name}'"
        self._names[name] += 1


def work_faults(plan: Plan) -> Iterator[str]:
    """Yield faults where the order of sawing has not every cut once, each after the cut that made its piece.

    A plan without one is cut layout after layout, in the order of the steps.
    """
    if not plan.work:
        return
    cuts = {(number, cut.step): cut for number, lay in enumerate(plan.layouts, 1) for cut in lay.cuts}
    sawn: set[tuple[int, int]] = set()
    there = {(number, "stock") for number in range(1, len(plan.layouts) + 1)}
    for turn in plan.work:
        where = f"work: layout {turn.layout}, step {turn.step}"
        cut = cuts.get((turn.layout, turn.step))
        if cut is None or (turn.layout, turn.step) in sawn:
            yield f"{where}: " + ("there is no such cut" if cut is None else "is sawn twice")
            continue
        sawn.add((turn.layout, turn.step))
        if (turn.layout, cut.piece) not in there:
            yield f"{where}: '{cut.piece}' is not there yet"
        there.update((turn.layout, name) for name in cut.gives if name is not None)
    for number, step in sorted(cuts.keys() - sawn):
        yield f"work: layout {number}, step {step}: is never sawn"
