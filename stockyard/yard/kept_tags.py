"""Which leftovers of a new plan keep the tags they have in the plan it replaces: papers printed stay true."""

from __future__ import annotations

from collections import defaultdict, deque
from collections.abc import Mapping, Sequence

from stockyard.yard.planned import StoredLayout


def kept_tags(
    old: Sequence[StoredLayout], new: Sequence[StoredLayout], called: Mapping[str, str] | None = None
) -> dict[int, tuple[str, ...]]:
    """Return the tags of the leftovers of each new layout, by its number, that was in the old plan as it is.

    `called` names parts that were renamed between the two.
    """
    found = same_layouts(old, new, called)
    return {n: tuple(left.tag or "" for left in before.leftovers) for n, before in found.items()}


def same_layouts(
    old: Sequence[StoredLayout], new: Sequence[StoredLayout], called: Mapping[str, str] | None = None
) -> dict[int, StoredLayout]:
    """Return the old layout of each new one, by its number, that was in the old plan as it is.

    A layout is the same when the piece is, and its parts, cuts and leftovers are. A piece that was still to
    be bought is the same as any of its size, also as one that was bought meanwhile.
    """
    of_piece = {x.tag: x for x in old if x.tag is not None}
    to_buy: dict[str, deque[StoredLayout]] = defaultdict(deque)
    for x in old:
        if x.tag is None:
            to_buy[_shape(x, called)].append(x)
    found: dict[int, StoredLayout] = {}
    for x in new:
        before = of_piece.get(x.tag or "")
        if before is None:
            waiting = to_buy[_shape(x)]
            before = waiting.popleft() if waiting else None
        elif _shape(before, called) != _shape(x):
            before = None
        if before is not None:
            found[x.number] = before
    return found


def _shape(x: StoredLayout, renamed: Mapping[str, str] | None = None) -> str:
    """Return all that a card shows of a layout but the numbers of its copies, which count over a plan."""
    names = renamed or {}
    called: dict[str | None, int] = {None: -1}
    cuts = [
        (
            c.step,
            c.direction,
            c.at,
            c.fence,
            [called.setdefault(n, len(called)) for n in (c.piece, c.low, c.high)],
        )
        for c in x.cuts
    ]
    parts = sorted((names.get(p.name, p.name), p.x, p.y, p.length, p.width, p.turned) for p in x.placed)
    lefts = [(left.x, left.y, left.length, left.width, left.factory) for left in x.leftovers]
    return repr((x.material_id, x.length, x.width, parts, cuts, lefts))
