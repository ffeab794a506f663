"""When planning stops, and what it tells on the way: plain values that any door can hold."""

from __future__ import annotations

from dataclasses import dataclass

from stockyard.worth import PULL_AREA

# A piece takes about a minute to fetch, so that a second costs this much material (common practice, no
# source).
SECOND = PULL_AREA // 60


@dataclass(frozen=True, slots=True)
class Limits:
    """When to stop: seconds on the clock, rounds of work, or neither. Work alone decides what is found.

    second: on the clock, once no plan can cost less, another second must promise to save this much
    material (ticks²); 0: as long as any better plan may be found. money_alone: nothing but what is paid is
    asked for, so that it stops once no plan can cost less.
    """

    seconds: float | None = 10.0
    work: int | None = None
    second: int = SECOND
    money_alone: bool = False


@dataclass(frozen=True, slots=True)
class Sketch:
    """A piece of an answer on the way, in ticks: its size, and where parts lie on it as (x, y, dx, dy)."""

    length: int
    width: int
    parts: tuple[tuple[int, int, int, int], ...]


@dataclass(frozen=True, slots=True)
class Improvement:
    """Where a plan stands on the way: parts still missing, money, net material (ticks²), pieces pulled.

    least: money that no plan can go below, as far as known. materials: those still searched for better.
    left: seconds until the limit, None without one. `sketches` are its pieces, the first few
    where there are many.
    """

    seconds: float
    missing: int
    money: int
    net: int
    pieces: int
    least: int = 0
    materials: tuple[str, ...] = ()
    left: float | None = None
    sketches: tuple[Sketch, ...] = ()

    @property
    def figures(self) -> tuple[int, int, int, int]:
        """What a better plan changes."""
        return self.missing, self.money, self.net, self.pieces
