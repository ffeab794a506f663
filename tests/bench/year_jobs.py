"""An invented shop's year: 150 jobs of mixed parts in five sheet materials."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from stockyard.measure import TICKS_PER_MM
from stockyard.planning.problem import MONEY, Grain, Part

JOBS = 150
DAYS = 365
KERF = 3 * TICKS_PER_MM
EDGE_TRIM = 5 * TICKS_PER_MM


@dataclass(frozen=True, slots=True)
class Sheet:
    """A material with the one size it is bought in (ticks) and its price."""

    material: str
    length: int
    width: int
    cost: int
    grain: bool


def _sheet(material: str, price: int, grain: bool) -> Sheet:
    return Sheet(material, 2440 * TICKS_PER_MM, 1220 * TICKS_PER_MM, price * MONEY, grain)


SHEETS = {
    s.material: s
    for s in (
        _sheet("birch ply 18", 84, True),
        _sheet("birch ply 12", 63, True),
        _sheet("oak ply 18", 142, True),
        _sheet("mdf 18", 46, False),
        _sheet("hardboard 6", 22, False),
    )
}

Row = tuple[str, int, int, int]
"""Material, length and width in millimetres, count."""


@dataclass(frozen=True, slots=True)
class Job:
    """One job: the day it comes in and its parts."""

    day: int
    parts: tuple[Part, ...]


def _face(dice: Random) -> str:
    return dice.choices(("birch ply 18", "oak ply 18", "mdf 18"), (5, 2, 3))[0]


def _bookcase(dice: Random) -> list[Row]:
    wood, high, deep = _face(dice), dice.randrange(800, 2100, 10), dice.randrange(230, 350, 5)
    wide, bays = dice.randrange(450, 1000, 10), dice.choice((1, 1, 2, 3))
    shelves = max(2, high // 380) * bays
    return [(wood, high, deep, 1 + bays), (wood, wide, deep, shelves), ("hardboard 6", high - 20, wide, bays)]


def _cabinets(dice: Random) -> list[Row]:
    rows: list[Row] = []
    wood = _face(dice)
    for _ in range(dice.choice((1, 2, 3, 4, 6, 8))):
        wide = dice.choice((300, 400, 450, 500, 600, 800))
        rows += [
            ("birch ply 18", 720, 560, 2), ("birch ply 18", wide - 36, 560, 1),
            ("birch ply 18", wide - 36, 100, 2), (wood, 715, wide // (1 if wide < 500 else 2) - 4, 1),
            ("hardboard 6", 700, wide - 10, 1),
        ]  # fmt: skip
    return rows


def _drawers(dice: Random) -> list[Row]:
    rows: list[Row] = []
    for _ in range(dice.choice((1, 2, 3, 4, 6, 9))):
        wide, high, deep = dice.randrange(260, 760, 10), dice.choice((90, 120, 150, 200)), 500
        rows += [
            ("birch ply 12", deep, high, 2), ("birch ply 12", wide, high, 2),
            ("hardboard 6", deep - 10, wide - 10, 1),
        ]  # fmt: skip
    return rows


def _table(dice: Random) -> list[Row]:
    wood = _face(dice)
    long, wide = dice.randrange(900, 1900, 10), dice.randrange(500, 900, 10)
    return [(wood, long, wide, 1), (wood, long - 150, 90, 2), (wood, wide - 150, 90, 2)]


def _boxes(dice: Random) -> list[Row]:
    rows: list[Row] = []
    for _ in range(dice.choice((1, 2, 4))):
        a, b, c = (dice.randrange(120, 420, 5) for _ in range(3))
        rows += [("birch ply 12", a, c, 2), ("birch ply 12", b, c, 2), ("birch ply 12", a, b, 1)]
    return rows


def _shelves(dice: Random) -> list[Row]:
    return [
        (_face(dice), dice.randrange(500, 1300, 10), dice.randrange(180, 320, 10), dice.choice((1, 2, 3, 4)))
    ]


def _jigs(dice: Random) -> list[Row]:
    return [
        ("mdf 18", dice.randrange(200, 700, 10), dice.randrange(100, 400, 10), dice.choice((1, 2)))
        for _ in range(dice.choice((1, 2, 3)))
    ]


def _wardrobe(dice: Random) -> list[Row]:
    wood, high, wide = _face(dice), dice.randrange(1900, 2300, 10), dice.randrange(600, 1000, 10)
    return [
        (wood, high, 580, 2), (wood, wide, 560, dice.choice((3, 4, 5))), (wood, high - 100, wide // 2 - 3, 2),
        ("hardboard 6", high - 20, wide, 1),
    ]  # fmt: skip


KINDS: tuple[tuple[Callable[[Random], list[Row]], int], ...] = (
    (_bookcase, 3), (_cabinets, 3), (_drawers, 4), (_table, 2), (_boxes, 4), (_shelves, 5), (_jigs, 4),
    (_wardrobe, 1),
)  # fmt: skip


def year(seed: int) -> tuple[Job, ...]:
    """Return the jobs of one year in the order they come in."""
    dice = Random(seed)
    jobs = []
    for day in sorted(dice.randrange(DAYS) for _ in range(JOBS)):
        kind = dice.choices([k for k, _ in KINDS], [w for _, w in KINDS])[0]
        jobs.append(Job(day, tuple(_part(n, *row) for n, row in enumerate(kind(dice), 1))))
    return tuple(jobs)


def _part(number: int, material: str, length: int, width: int, count: int) -> Part:
    return Part(
        id=f"p{number}", length=length * TICKS_PER_MM, width=width * TICKS_PER_MM, count=count,
        materials=(material,), grain=Grain.ALONG if SHEETS[material].grain else Grain.ANY,
    )  # fmt: skip
