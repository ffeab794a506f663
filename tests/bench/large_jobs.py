"""Large invented jobs: mixed furniture parts, seven in ten with the grain along. Fixed seeds."""

from __future__ import annotations

from random import Random

from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.problem import MONEY, Grain, Kind, Part, Problem, Stock

# Length and width in mm from and to, and how many parts in a hundred are of that sort.
SORTS = (
    ((560, 900), (280, 600), 30),  # sides and backs
    ((280, 1200), (250, 580), 30),  # shelves and bottoms
    ((140, 720), (120, 600), 25),  # doors and fronts
    ((90, 600), (50, 120), 15),  # rails and drawer parts
)
ALONG = 0.7


def large(parts: int, kinds: int, offcuts: int = 0, seed: int = 0) -> Problem:
    """Return a job of so many parts of so many kinds, cut from sheets to buy and offcuts on the racks."""
    random = Random(f"{parts}/{kinds}/{offcuts}/{seed}")
    weights = [weight for _, _, weight in SORTS]
    sizes: dict[tuple[int, int, Grain], None] = {}
    while len(sizes) < kinds:
        (length, width, _) = random.choices(SORTS, weights)[0]
        grain = Grain.ALONG if random.random() < ALONG else Grain.ANY
        sizes[random.randint(*length), random.randint(*width), grain] = None
    counts = [1] * kinds
    for _ in range(parts - kinds):
        counts[random.randrange(kinds)] += 1
    wanted = tuple(
        Part(id=f"part {n}", length=length * MM, width=width * MM, count=count, grain=grain)
        for n, ((length, width, grain), count) in enumerate(zip(sizes, counts, strict=True), 1)
    )
    sheet = Stock(
        id="new", kind=Kind.FULL, material="any", length=2440 * MM, width=1220 * MM, count=None,
        cost=60 * MONEY, grain=True,
    )  # fmt: skip
    left = tuple(
        Stock(
            id=f"offcut {n}", kind=Kind.OFFCUT, material="any", length=random.randint(250, 1500) * MM,
            width=random.randint(150, 900) * MM, grain=True,
        )
        for n in range(1, offcuts + 1)
    )  # fmt: skip
    return Problem(stock=(*left, sheet), parts=wanted, kerf=3 * MM)
