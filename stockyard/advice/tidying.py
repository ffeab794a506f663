"""The tidy-up list: what to clear first, from crowded places and from pieces nobody will miss."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from stockyard.advice.keeping import Outlook, Verdict, judge, size_class
from stockyard.measure import Length, Money, Unit
from stockyard.worth import PULL_AREA

CROWDED = 85
"""Per cent of room or of rated load at which a place is called crowded (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelved:
    """One offcut on the rack. `age` is days on the rack; `fill` how full its place is, per cent, if known."""

    tag: str
    material: str
    place: str
    length: Length
    width: Length
    age: int
    depth: int = 0
    cost: Money = Money(0)
    fill: int | None = None


@dataclass(frozen=True, slots=True)
class Clear:
    """One piece to clear, in order; `why` in a sentence."""

    piece: Shelved
    verdict: Verdict
    why: str


def tidy_list(
    pieces: Sequence[Shelved],
    outlooks: Mapping[str, Outlook],
    *,
    horizon: int,
    pull_area: int = PULL_AREA,
    limit: int | None = None,
    unit: Unit = Unit.MM,
) -> tuple[Clear, ...]:
    """Return the pieces to clear, first the ones in crowded places, then by age.

    A piece is listed when its verdict is to bin it, or when it has waited past the horizon and is
    less than even odds to be used. Among similar pieces the newest counts as first in line, so the
    oldest goes. `unit` is the shop's. Materials without an outlook are judged by usual part sizes.
    """
    ahead: dict[tuple[str, tuple[int, int]], int] = defaultdict(int)
    unknown = Outlook((), 0, horizon)
    found: list[Clear] = []
    for piece in sorted(pieces, key=lambda p: (p.age, p.tag)):
        line = (piece.material, size_class(piece.length, piece.width))
        outlook = outlooks.get(piece.material, unknown)
        verdict = judge(outlook, piece.length, piece.width, ahead[line], pull_area=pull_area, unit=unit)
        stale = piece.age > horizon and verdict.use.chance < 0.5
        if verdict.keep and not stale:
            ahead[line] += 1
        else:
            found.append(Clear(piece, verdict, _why(piece, verdict, stale=stale)))
    found.sort(key=_order)
    return tuple(found[:limit])


def _why(piece: Shelved, verdict: Verdict, *, stale: bool) -> str:
    crowded = f"; {piece.place} is {piece.fill} % full" if _is_crowded(piece) else ""
    waited = f"; never used in {piece.age} days" if stale else ""
    return verdict.says.removeprefix("keep: ").removeprefix("bin: ") + waited + crowded


def _is_crowded(piece: Shelved) -> bool:
    return piece.fill is not None and piece.fill >= CROWDED


def _order(clear: Clear) -> tuple[bool, int, int, str]:
    return (not _is_crowded(clear.piece), clear.verdict.use.expected, -clear.piece.age, clear.piece.tag)
