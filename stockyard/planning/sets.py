"""Matched sets: each is one panel to the search, which is cut open into its members afterwards.

Members lie as their grain says, whatever the stock: with the length along the piece, or across it where
the part's grain runs across. A panel never turns, so that a set runs as it was asked to.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from stockyard.errors import BadInput
from stockyard.measure import Unit, show
from stockyard.planning.problem import Grain, Group, Method, Part, Problem, Run, Stock
from stockyard.planning.tree import Axis
from stockyard.saws import Way, reaches

AXIS = {Run.ALONG: Axis.CROSSCUT, Run.ACROSS: Axis.RIP}


@dataclass(frozen=True, slots=True)
class Panel:
    """A set as one part. `members`: part (by index) and extent along the run, from the low edge on."""

    group: Group
    part: Part
    axis: Axis
    members: tuple[tuple[int, int], ...]

    def counts(self) -> Mapping[int, int]:
        """Return how many of each part one set takes, by part index."""
        return Counter(row for row, _ in self.members)


def panels(problem: Problem) -> tuple[Panel, ...]:
    """Return the panel of each group, in their order."""
    if not problem.groups:
        return ()
    row = {p.id: i for i, p in enumerate(problem.parts)}
    return tuple(_panel(problem, group, [row[m] for m in group.members]) for group in problem.groups)


def joined(problem: Problem) -> Problem:
    """Return the problem with each set as one part behind the others; its members are wanted no more.

    Every other part keeps its index.
    """
    if not problem.groups:
        return problem
    taken = {m for group in problem.groups for m in group.members}
    loose = tuple(replace(p, count=0) if p.id in taken else p for p in problem.parts)
    return replace(problem, parts=loose + tuple(p.part for p in panels(problem)), groups=())


def groups_for(groups: Iterable[Group], counts: Mapping[str, int]) -> tuple[Group, ...]:
    """Return the groups of as many whole sets as `counts`, by part id, still make."""
    left = ((g, min(counts.get(m, 0) // g.members.count(m) for m in g.members)) for g in groups)
    return tuple(replace(g, count=n) for g, n in left if n)


def extents(part: Part) -> tuple[int, int]:
    """Return length and width of the piece that a member takes, as it lies."""
    return (part.width, part.length) if part.grain is Grain.ACROSS else (part.length, part.width)


def _panel(problem: Problem, group: Group, rows: list[int]) -> Panel:
    parts = [problem.parts[i] for i in rows]
    axis = AXIS[group.run]
    run = [extents(p)[group.run is Run.ACROSS] for p in parts]
    across = extents(parts[0])[group.run is Run.ALONG]
    whole = sum(run) + (len(run) - 1) * problem.kerf
    length, width = (whole, across) if group.run is Run.ALONG else (across, whole)
    accepted, only = _common(parts), _only(parts)
    if problem.method is Method.SAW:
        apart = [s.id for s in problem.stock if _comes_apart(problem, s, axis, run[:-1], across)]
        if len(apart) < len(problem.stock):
            only = tuple(i for i in apart if only is None or i in only)
    part = Part(
        id=group.id, length=length, width=width, count=group.count, materials=accepted,
        thickness=next((p.thickness for p in parts if p.thickness), None),
        priority=max(p.priority for p in parts), fixed=True, only=only,
        least_thickness=max((p.least_thickness or 0 for p in parts), default=0) or None,
    )  # fmt: skip
    return Panel(group, part, axis, tuple(zip(rows, run, strict=True)))


def _comes_apart(problem: Problem, stock: Stock, axis: Axis, sizes: list[int], across: int) -> bool:
    """Whether the shop's saws take a panel of a piece apart into members of these sizes."""
    way = Way.RIP if (axis is Axis.RIP) is not stock.is_wide else Way.CROSS
    return all(reaches(way, across, size, problem.saws) for size in sizes)


def _only(parts: Iterable[Part]) -> tuple[str, ...] | None:
    """Return the stock rows that all are kept to, None for any."""
    kept = [p.only for p in parts if p.only is not None]
    return tuple(r for r in kept[0] if all(r in other for other in kept)) if kept else None


def _common(parts: Iterable[Part]) -> tuple[str, ...] | None:
    """Return the materials that all accept, None for any."""
    found: tuple[str, ...] | None = None
    for p in parts:
        if p.materials is not None:
            found = p.materials if found is None else tuple(m for m in found if m in p.materials)
    return found


def refuse_unequal(problem: Problem) -> None:
    """Look that every set can be one panel.

    Raises:
        BadInput: it cannot; the text names the group and the member.
    """
    parts = {p.id: p for p in problem.parts}
    owner: dict[str, int] = {}
    for i, group in enumerate(problem.groups):
        where = f"groups[{i}]"
        for m in dict.fromkeys(group.members):
            if m not in parts:
                raise BadInput(f"{where}.members: '{m}' is no part")
            if m in owner:
                raise BadInput(f"{where}.members: '{m}' is in groups[{owner[m]}] already")
            owner[m] = i
            wanted = group.count * group.members.count(m)
            if parts[m].count != wanted:
                raise BadInput(f"{where}: '{m}' is wanted {parts[m].count} times, the set takes {wanted}")
        fault = unlike([parts[m] for m in group.members], group.run, problem.unit)
        if fault:
            raise BadInput(f"{where}: {fault}")


def unlike(parts: list[Part], run: Run, unit: Unit) -> str | None:
    """Return why parts can not lie side by side as one panel, None when they can."""
    first = parts[0]
    thick = next((p for p in parts if p.thickness), first)
    for p in parts:
        if p.thickness not in (None, thick.thickness):
            return f"'{p.id}' is of another thickness than '{thick.id}'"
        if (p.grain is Grain.ACROSS) != (first.grain is Grain.ACROSS):
            return f"the grain of '{p.id}' runs another way than that of '{first.id}'"
        across = run is Run.ALONG
        one, other = extents(first)[across], extents(p)[across]
        if one != other:
            sizes = f"{show(other, unit, mark=True)} and {show(one, unit, mark=True)}"
            what = "wide" if across else "long"
            if first.grain is Grain.ACROSS:
                what = "long" if across else "wide"
            return f"'{p.id}' and '{first.id}' are not equally {what} ({sizes}), so they can not lie flush"
    if _common(parts) == ():
        return "no material is accepted by all of its members"
    return None
