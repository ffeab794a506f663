"""When planning stops, and what it tells on the way: plain values that any door can hold."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Limits:
    """When to stop: seconds on the clock, rounds of work, or neither. Work alone decides what is found."""

    seconds: float | None = 10.0
    work: int | None = None


@dataclass(frozen=True, slots=True)
class Improvement:
    """A better answer on the way: parts still missing, money, net material (ticks²), pieces pulled."""

    seconds: float
    missing: int
    money: int
    net: int
    pieces: int
