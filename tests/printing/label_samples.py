"""Invented labels of mixed kinds: sheets and boards, thick and thin, full and ripped down, both units."""

from __future__ import annotations

import random

from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit
from stockyard.printing.edge_strip import EdgeLabel
from stockyard.printing.part_labels import BANDS, Arrow, PartLabel
from stockyard.tags import tag_number

MATERIALS = (
    "birch ply", "MDF", "hardboard", "red oak", "Épicéa raboté", "Multiplex Buche, Qualität B/BB",
    "Douglas fir, rough sawn", "melamine-faced chipboard, light grey", "white ash",
    "poplar ply (core: poplar)",
)  # fmt: skip
THICK = (
    ("18 mm", 18.0), ("3/4", 17.86), ("12 mm", 11.8), ("1/2", 11.9), ("9 mm", 9.1), ("6 mm", 5.8),
    ("1/4", 5.2), ("3 mm", 3.2), ("4/4", 22.2), ("8/4", 47.6), ("2x4", 38.1), ("25 mm", 25.4),
    ("21 mm", 20.9),
)  # fmt: skip
PARTS = ("side", "shelf, adjustable", "drawer front", "back", "étagère", "toe kick", "divider, left-hand")


def edge_labels(count: int, seed: int = 1) -> list[EdgeLabel]:
    """Return `count` edge labels with tags as a yard gives them out."""
    chance = random.Random(seed)
    made = []
    for n in range(count):
        unit = chance.choice((Unit.MM, Unit.INCH))
        name, thickness = chance.choice(THICK)
        step = TICKS_PER_MM if unit is Unit.MM else TICKS_PER_INCH // 64
        longest = 3660 if unit is Unit.MM else 144 * 64
        length, width = chance.randint(longest // 20, longest), chance.randint(longest // 20, longest // 3)
        label = EdgeLabel(
            tag=tag_number(seed * 5000 + n), full=chance.random() < 0.4, length=length * step,
            width=width * step,
            material=chance.choice(MATERIALS), thickness_name=name, unit=unit,
            measured_thickness=round(thickness * TICKS_PER_MM), grain=chance.random() < 0.7,
        )  # fmt: skip
        made.append(label)
    return made


def part_labels(count: int, seed: int = 1) -> list[PartLabel]:
    """Return `count` part labels."""
    chance = random.Random(seed)
    made = []
    for n in range(count):
        unit = chance.choice((Unit.MM, Unit.INCH))
        step = TICKS_PER_MM if unit is Unit.MM else TICKS_PER_INCH // 16
        label = PartLabel(
            job=chance.choice(("Pantry", "Garden shed doors", "Library wall, north side")),
            part=chance.choice(PARTS), length=chance.randint(60, 2000) * step,
            width=chance.randint(40, 600) * step, unit=unit,
            piece=tag_number(n) if chance.random() < 0.9 else "", k=n % 7 + 1, n=7,
            bands=tuple(b for b in BANDS if chance.random() < 0.4), grain=chance.choice(list(Arrow)),
            stuff=f"{chance.choice(MATERIALS)} {chance.choice(THICK)[0]}",
            cut=(700 * step, 300 * step) if chance.random() < 0.3 else None,
            matched="fronts 2 of 3, below 1" if chance.random() < 0.2 else "",
        )  # fmt: skip
        made.append(label)
    return made
