"""A plan on its way from one process to another: what layouts that are cut alike share is sent once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import chain

from stockyard.planning.plan import Cut, Layout, Leftover, Placement, Plan, Turn
from stockyard.planning.tree import Axis

Alike = tuple[str, tuple[Placement, ...], tuple[tuple[int, str, Axis, int, int], ...], tuple[Leftover, ...]]
"""Stock, parts, cuts but for what they give, and leftovers of a layout."""


@dataclass(frozen=True, slots=True)
class Parcel:
    """A plan in few objects.

    `rest` is the plan without layouts and work; each of `layouts` says which of `kinds` it is and what its
    cuts give, two names a cut; `work` has two numbers a turn.
    """

    rest: Plan
    kinds: tuple[Alike, ...]
    layouts: list[tuple[int, tuple[str | None, ...]]]
    work: list[int]


def packed(plan: Plan) -> Parcel:
    """Return a plan to be sent."""
    kinds: dict[Alike, int] = {}
    layouts = []
    for x in plan.layouts:
        alike = x.stock, x.parts, tuple([c.alike for c in x.cuts]), x.leftovers
        names = tuple([name for c in x.cuts for name in c.gives])
        layouts.append((kinds.setdefault(alike, len(kinds)), names))
    rest = replace(plan, layouts=(), work=())
    return Parcel(rest, tuple(kinds), layouts, list(chain.from_iterable(plan.work)))


def opened(parcel: Parcel) -> Plan:
    """Return the plan that was packed."""
    layouts = []
    for kind, names in parcel.layouts:
        stock, parts, cuts, leftovers = parcel.kinds[kind]
        name = iter(names)
        made = [
            Cut(step=step, piece=piece, direction=direction, at=at, fence=fence, gives=gives)
            for (step, piece, direction, at, fence), gives in zip(
                cuts, zip(name, name, strict=True), strict=True
            )
        ]
        layouts.append(Layout(stock=stock, parts=parts, cuts=tuple(made), leftovers=leftovers))
    number = iter(parcel.work)
    work = tuple(map(Turn._make, zip(number, number, strict=True)))
    return replace(parcel.rest, layouts=tuple(layouts), work=work)
