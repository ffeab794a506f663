"""The numbers that cut cards show: those of cards that stand stay, so that what is on paper stays true.

A part is the third of eight of its line, a cut is made at the fifth setting of the job sheet. Both count over
a whole plan; they are given once, when it is stored.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import chain, count

from stockyard.desk.cards import steps_of
from stockyard.desk.questions import trimmed
from stockyard.desk.stored_layouts import layout_of, work_of
from stockyard.kinds import Kind
from stockyard.planning.problem import Stock
from stockyard.printing.job_order import settings
from stockyard.printing.papers import CutStep, Turn
from stockyard.yard.jobs import cut_so_far, job_by_id, named_parts
from stockyard.yard.kept_tags import same_layouts
from stockyard.yard.materials import materials
from stockyard.yard.model import Job
from stockyard.yard.pieces import by_tags
from stockyard.yard.plan_rows import cut_numbers, factory_edges
from stockyard.yard.planned import PlannedPart, StoredLayout, StoredPlan
from stockyard.yard.store import Yard

Numbers = dict[tuple[str, int, int], int]
"""The number of a part by its name and where it lies."""


def numbered_layouts(
    yard: Yard,
    job: Job,
    layouts: Sequence[StoredLayout],
    old: Sequence[StoredLayout],
    called: Mapping[str, str],
) -> tuple[StoredLayout, ...]:
    """Return the layouts of a new plan with their numbers; `old` are those of the plan it replaces.

    `called` names parts that were renamed since that plan.
    """
    same = same_layouts(old, layouts, called)
    parts = _part_numbers(yard, job, layouts, same, called)
    known = tuple(
        replace(
            x,
            placed=tuple(replace(p, number=parts[x.number][p.name, p.x, p.y]) for p in x.placed),
            cuts=tuple(
                replace(c, setting=before.setting)
                for c, before in zip(x.cuts, same[x.number].cuts if x.number in same else x.cuts, strict=True)
            ),
        )
        for x in layouts
    )
    made = settings_of(yard, known)
    return tuple(
        replace(x, cuts=tuple(replace(c, setting=made[x.number, c.step].setting or None) for c in x.cuts))
        for x in known
    )


def settings_of(yard: Yard, layouts: Sequence[StoredLayout], kerf: int | None = None) -> dict[Turn, CutStep]:
    """Return every cut of a plan as its card shows it, by the number of the card and of the cut.

    `kerf` is what it was planned with, the shop's where that is not said.
    """
    shop = yard.settings
    found: dict[Turn, CutStep] = {}
    for x, stock in zip(layouts, sawn_from(yard, layouts), strict=True):
        given = {c.step: c.setting for c in x.cuts}
        for step in steps_of(layout_of(x), stock, shop.kerf if kerf is None else kerf, shop.saws, given):
            found[x.number, step.number] = step
    work = [(layouts[turn.layout - 1].number, turn.step) for turn in work_of(layouts)]
    return settings([(turn, found[turn]) for turn in work or found], shop.saws)


def sawn_from(yard: Yard, layouts: Sequence[StoredLayout]) -> Iterator[Stock]:
    """Yield the piece of each layout as the planner saw it when it said what its cuts are."""
    shop, known, uncut = yard.settings, {m.id: m for m in materials(yard)}, factory_edges(yard)
    full = {p.tag for p in by_tags(yard, [x.tag for x in layouts if x.tag]) if p.kind is Kind.FULL}
    for x in layouts:
        kind = Kind.FULL if x.tag is None or x.tag in full else Kind.OFFCUT
        material = known[x.material_id]
        yield Stock(
            id=layout_of(x).stock, kind=kind, material=material.title, grain=material.grain,
            length=x.length, width=x.width,
            edge_trim=trimmed(material, shop, kind, uncut.get(x.tag or "", ())),
        )  # fmt: skip


def still_true(yard: Yard, printed: StoredPlan, plan: StoredPlan) -> set[int]:
    """Return the numbers of the cards of a plan that are as they are in one that was printed.

    Of how many a part or a card is one may have changed: that is not looked at.
    """
    same = same_layouts(printed.layouts, plan.layouts)
    was, now = (settings_of(yard, x.layouts, x.making.kerf if x.making else None) for x in (printed, plan))
    return {
        x.number for x in plan.layouts if x.number in same and _shown(x, now) == _shown(same[x.number], was)
    }


def _shown(x: StoredLayout, steps: Mapping[Turn, CutStep]) -> tuple[object, ...]:
    """Return what a card shows of a layout besides how it is cut."""
    parts = sorted((p.y, p.x, p.number or 0) for p in x.placed)
    cuts = [(steps[x.number, c.step].setting, steps[x.number, c.step].stays) for c in x.cuts]
    return x.number, [left.tag for left in x.leftovers], parts, cuts


def _part_numbers(
    yard: Yard,
    job: Job,
    layouts: Sequence[StoredLayout],
    same: Mapping[int, StoredLayout],
    called: Mapping[str, str],
) -> dict[int, Numbers]:
    """Return the number of every part of every layout: as before where the card stands, else a free one."""
    wanted = {name: part.count for name, part in named_parts(job)}
    done, cut = cut_so_far(yard, job.id), _cut(yard, job)
    found: dict[int, Numbers] = {x.number: {} for x in layouts}
    standing: dict[str, set[int]] = {name: set() for name in wanted}
    for n, before in same.items():
        for p in before.placed:
            name = called.get(p.name, p.name)
            if p.number is not None and p.number <= wanted[name] and p.number not in standing[name]:
                standing[name].add(p.number)
                found[n][name, p.x, p.y] = p.number
    free = {name: _free(wanted[name], done[name], cut.get(name, ()), standing[name]) for name in wanted}
    for x in layouts:
        for p in sorted(x.placed, key=_row_by_row):
            if (p.name, p.x, p.y) not in found[x.number]:
                found[x.number][p.name, p.x, p.y] = next(free[p.name])
    return found


def _cut(yard: Yard, job: Job) -> dict[str, set[int]]:
    """Return the numbers of parts on pieces that are cut, by name; of joined jobs those of each too."""
    found = cut_numbers(yard, job.id)
    for member in job.members:
        own = job_by_id(yard, member).name
        for name, numbers in cut_numbers(yard, member).items():
            found.setdefault(f"{own}: {name}", set()).update(numbers)
    return found


def _free(wanted: int, done: int, cut: Collection[int], standing: Collection[int]) -> Iterator[int]:
    """Yield the numbers that no part bears that is cut or stands on a card, the lowest first.

    As many count as cut as are: of one that was spoiled the number is free again.
    """
    others = (n for n in range(1, wanted + 1) if n not in standing)
    borne = [n for n in sorted(cut) if n <= wanted and n not in standing]
    borne += [n for n in others if n not in borne]
    taken = {*standing, *borne[:done]}
    return chain((n for n in range(1, wanted + 1) if n not in taken), count(wanted + 1))


def _row_by_row(p: PlannedPart) -> tuple[int, int]:
    return p.y, p.x
