"""How dense and how stiff common woods and panels are: starting figures, to be weighed and overruled.

Solid wood: Wood Handbook FPL-GTR-282 (2021) Table 5-3b, 12 % moisture: G (oven-dry mass over volume
at 12 %) and E in 10^6 psi, read through published transcriptions. Averages of clear wood, not design values.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_MPA_PER_MEGAPSI = 6894.757


@dataclass(frozen=True, slots=True)
class Wood:
    """A wood or panel: density in kg/m³ and stiffness E in MPa (None where no source gave one)."""

    name: str
    density: int
    stiffness: int | None


# Name as people write it, G, E in 10^6 psi.
_SOLID = (
    ("white ash", 0.60, 1.74), ("basswood", 0.37, 1.46), ("beech", 0.64, 1.72),
    ("yellow birch", 0.62, 2.01), ("cherry", 0.50, 1.49), ("hickory", 0.72, 2.16),
    ("red maple", 0.54, 1.64), ("sugar maple", 0.63, 1.83), ("red oak", 0.63, 1.82),
    ("white oak", 0.68, 1.78), ("walnut", 0.55, 1.68), ("yellow poplar", 0.42, 1.58),
    ("western redcedar", 0.32, 1.11), ("douglas fir", 0.48, 1.95), ("white pine", 0.35, 1.24),
    ("loblolly pine", 0.51, 1.79), ("longleaf pine", 0.59, 1.98), ("ponderosa pine", 0.40, 1.29),
    ("redwood", 0.40, 1.34), ("spruce", 0.35, 1.30),
)  # fmt: skip

# Density: makers' sheets (birch ply) and common trade figures; E: the low end of FPL-GTR-190 Table 12-1.
_PANELS = (
    Wood("birch ply", 685, 6960),
    Wood("ply", 577, 6960),
    Wood("mdf", 750, 3590),
    Wood("chipboard", 720, 2760),
    Wood("particleboard", 720, 2760),
    Wood("osb", 650, 4410),
    Wood("hardboard", 950, 3100),
)


def density_at_12(gravity: float) -> int:
    """Return kg/m³ at 12 % moisture from specific gravity (the handbook's density equation)."""
    return round(1000 * gravity * 1.12)


WOODS = tuple(
    Wood(name, density_at_12(gravity), round(stiff * _MPA_PER_MEGAPSI)) for name, gravity, stiff in _SOLID
)


def look_up(material: str) -> Wood | None:
    """Return the wood whose every word stands in a material's name, panels first; None when none does."""
    words = set(re.findall(r"[a-z]+", material.lower().replace("plywood", "ply").replace("-", " ")))
    found = [w for w in (*_PANELS, *WOODS) if set(w.name.split()) <= words]
    panels = [w for w in found if w in _PANELS]
    return max(panels or found, key=lambda w: len(w.name.split()), default=None)
