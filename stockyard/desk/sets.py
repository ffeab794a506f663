"""The matched sets of a job as the planner's groups: whole sets, their members by the names of the plan."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from stockyard.errors import BadInput
from stockyard.measure import Unit
from stockyard.planning.problem import Group, Part, Problem, Run
from stockyard.planning.sets import unlike
from stockyard.yard.jobs import named_parts
from stockyard.yard.model import Job, JobPart


@dataclass(frozen=True, slots=True)
class Set:
    """A matched set of a job: its parts in order, by their names in plans, each with how many a set takes."""

    name: str
    run: Run
    members: tuple[tuple[str, int], ...]
    count: int

    @property
    def each(self) -> int:
        """How many parts one set has."""
        return sum(n for _, n in self.members)


def sets_of(job: Job) -> tuple[Set, ...]:
    """Return the sets of a job.

    Raises:
        BadInput: the counts of its parts make no whole sets.
    """
    return tuple(_set(name, parts) for name, parts in _gathered(job).items())


def _gathered(job: Job) -> dict[str, list[tuple[str, JobPart]]]:
    found: dict[str, list[tuple[str, JobPart]]] = {}
    for name, part in named_parts(job):
        if part.set_name:
            called = f"{part.job}: {part.set_name}" if part.job else part.set_name
            found.setdefault(called, []).append((name, part))
    return found


def _set(name: str, parts: list[tuple[str, JobPart]]) -> Set:
    each = [(called, p.set_each or p.count) for called, p in parts]
    copies = {p.count / n for (_, p), (_, n) in zip(parts, each, strict=True)}
    if len(copies) > 1 or not next(iter(copies)).is_integer():
        have = ", ".join(f"{p.count} {called}" for called, p in parts)
        want = ", ".join(f"{n} {called}" for called, n in each)
        raise BadInput(f"set {name} takes {want}: {have} make no whole sets")
    return Set(name, Run(parts[0][1].set_run), tuple(each), int(copies.pop()))


def refuse_broken_sets(job: Job, unit: Unit) -> None:
    """Look that the sets of a job can be cut.

    Raises:
        BadInput: their counts make no whole sets, or their parts can not lie flush.
    """
    parts = {
        name: Part(id=name, length=p.length, width=p.width, grain=p.grain) for name, p in named_parts(job)
    }
    for one in sets_of(job):
        fault = unlike([parts[name] for name, _ in one.members], one.run, unit)
        if fault:
            raise BadInput(f"set {one.name}: {fault}")


def groups_left(job: Job, left: Mapping[str, int]) -> tuple[Group, ...]:
    """Return the sets still to be cut; `left` counts the parts that are, by name.

    A set of which some parts are cut already can not be matched any more: the others are loose.
    """
    found = []
    for one in sets_of(job):
        copies = {left.get(name, 0) / n for name, n in one.members}
        n = copies.pop()
        if copies or not n or not n.is_integer():
            continue
        members = tuple(name for name, times in one.members for _ in range(times))
        found.append(Group(id=one.name, run=one.run, members=members, count=int(n)))
    return tuple(found)


def loose_sets(job: Job, problem: Problem) -> Iterator[str]:
    """Say which sets cannot be matched any more, since some of their parts are cut already."""
    whole, asked = {group.id for group in problem.groups}, {p.id for p in problem.parts}
    for one in sets_of(job):
        left = [name for name, _ in one.members if name in asked]
        if left and one.name not in whole:
            parts = " and ".join(left)
            yield f"Set {one.name} is cut in part: {parts} will be cut from any piece, and may not match."
