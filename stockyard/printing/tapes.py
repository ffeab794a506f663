"""Continuous label media: cassette tape by width, and the 62 mm roll. Millimetres.

Every label is a page of its own, cut off by the printer. The printable height of a tape is less than its
width and differs between printers; the figures here are cautious (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Tape:
    """A tape: its width and the height a printer can mark, both in millimetres."""

    width: float
    printable: float


TAPES = (Tape(9, 7), Tape(12, 9), Tape(18, 15), Tape(24, 18))


@dataclass(frozen=True, slots=True)
class TapeLayout:
    """Labels on tape: with several `tapes` the widest that the edge carries is chosen for each label."""

    name: str
    tapes: tuple[Tape, ...]

    def for_edge(self, thickness: float, most: float) -> Tape | None:
        """Return the widest tape no wider than an edge of `thickness`, its print at most `most` high."""
        fitting = [t for t in self.tapes if t.width <= thickness and t.printable <= most]
        return max(fitting, key=lambda t: t.width, default=None)

    @property
    def widest(self) -> Tape:
        """The widest tape of the layout."""
        return max(self.tapes, key=lambda t: t.width)


@dataclass(frozen=True, slots=True)
class RollLayout:
    """Labels across a roll of `width`, `printable` of it marked, at least `least_feed` long."""

    name: str
    width: float
    printable: float
    least_feed: float


TAPE_LAYOUTS = (TapeLayout("tape", TAPES), *(TapeLayout(f"tape-{t.width:.0f}", (t,)) for t in TAPES))
ROLL_62 = RollLayout("roll-62", 62.0, 58.0, 13.0)
