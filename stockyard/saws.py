"""What a shop saws with, how far each machine reaches, and what a person can safely hold.

Small parts, as four table-saw makers' manuals print them: a push block under 6 in wide or 12 in long, no
crosscut under 6 in without a holding device, no rip under 10 in long or narrower than 1/2 in. Common
practice, no source: nothing 12 in or shorter on a machine (a magazine's rule), a push stick between fence and
blade under 1 1/2 in, support over 36 in behind the saw or beside it, two people for a piece with both sides
over 36 in, and what one machine reaches. It warns; plate, manual and local rules come first.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import NamedTuple

from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM

PUSH_BLOCK_WIDTH = 6 * TICKS_PER_INCH
PUSH_BLOCK_LENGTH = 12 * TICKS_PER_INCH
LEAST_CROSSCUT = 6 * TICKS_PER_INCH
LEAST_RIP_LENGTH = 10 * TICKS_PER_INCH
LEAST_RIP_WIDTH = TICKS_PER_INCH // 2
NARROW = 3 * TICKS_PER_INCH // 2
LEAST_ON_MACHINE = 12 * TICKS_PER_INCH
SUPPORT_LENGTH = 36 * TICKS_PER_INCH


class Machine(StrEnum):
    """What a cut is made on."""

    FENCE = "rip fence"
    STOP = "stop"
    MARK = "mitre gauge, to a mark"
    GUIDE = "guided saw"


class Way(StrEnum):
    """What a cut is called: with the grain or against it; without grain by the long side of the sheet."""

    RIP = "RIP"
    CROSS = "CROSS"


class Caution(StrEnum):
    """What to mind at a cut; the words are the printers'."""

    TWO_PEOPLE = "two people"
    SUPPORT = "support"
    OVERHANG = "overhang"
    SHORT_ALONG_FENCE = "short along the fence"
    PUSH_BLOCK = "push block"
    NARROW_STRIP = "narrow strip"
    TOO_NARROW = "too narrow to rip"
    SHORT_RIP = "too short to rip"
    SHORT_CROSSCUT = "too short to crosscut"
    SMALL = "too small for a machine"
    STOP_ONLY = "stop, never the fence"
    OUT_OF_REACH = "out of reach"


BY_ANOTHER_WAY = frozenset({Caution.TOO_NARROW, Caution.SHORT_RIP, Caution.SHORT_CROSSCUT, Caution.SMALL})
"""Below the makers' limits: such a part is cut as part of a longer or wider strip, and comes off last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Saws:
    """What a shop cuts with; lengths in ticks, 0 where the shop has none.

    `rip_width` is the widest rip between fence and blade; `stop_length` the longest stop of a sled or mitre
    gauge and `stop_reach` the widest piece it takes across, to a mark where it has no stop; `guide_length`
    the longest cut of a guided or panel saw. One person handles a piece unless both its sides are over
    `one_person`. `apart`: fence and stop stay set beside each other; with one saw that does both they do not.
    The bench holds `bench` pieces that wait for their next cut.
    """

    rip_width: int = 1300 * TICKS_PER_MM
    stop_length: int = 1220 * TICKS_PER_MM
    stop_reach: int = 610 * TICKS_PER_MM
    guide_length: int = 100_000 * TICKS_PER_MM
    one_person: int = 36 * TICKS_PER_INCH
    apart: bool = True
    bench: int = 40


@dataclass(frozen=True, slots=True)
class Pass:
    """One cut as the saw sees it: `run` is how long it is, `figure` what the setting says.

    `reach` is the extent of the piece in hand that the cut divides, `least` the smaller of the two pieces
    that come out of it (waste aside). `trims`: it only cleans an edge, by eye.
    """

    way: Way
    run: int
    reach: int
    figure: int
    least: int
    trims: bool = False


class Setting(NamedTuple):
    """What is set before a cut: a machine (None where no saw of the shop reaches), and its figure."""

    machine: Machine | None
    figure: int

    def saw(self, saws: Saws) -> Machine | None:
        """Return what moves when it is set: fence and stop are one where one saw does both."""
        fence = self.machine is Machine.STOP and not saws.apart
        return Machine.FENCE if fence else self.machine


@dataclass(slots=True)
class Standing:
    """Where fence, stop and guided saw stand while a job is sawn: what a move is, is defined here alone.

    Each stays at its figure until it is set to another one, whatever is cut at it: with the grain or against
    it, to a finished size or to a rough one.
    """

    saws: Saws
    stands: dict[Machine | None, Setting] = field(default_factory=dict)

    def cut(self, setting: Setting) -> bool:
        """Take note of a cut at a setting, which stands then; return whether something is set for it."""
        saw = setting.saw(self.saws)
        moves = self.stands.get(saw) != setting
        self.stands[saw] = setting
        return moves


def reaches(way: Way, run: int, figure: int, saws: Saws, *, trims: bool = False) -> bool:
    """Whether a machine of the shop makes a cut so long at this figure; `trims`: it only cleans an edge."""
    return machine_for(Pass(way, run, 0, figure, figure, trims), saws) is not None


def is_limited(length: int, width: int, saws: Saws) -> bool:
    """Whether some cut of a piece, `length` along it, may be out of reach."""
    across = width <= saws.guide_length or _on_gauge(width, length, saws)
    along = min(width - saws.rip_width, length - saws.guide_length) <= 0 or _on_gauge(length, width, saws)
    return not (across and along)


def _on_gauge(run: int, figure: int, saws: Saws) -> bool:
    """Whether sled or mitre gauge take a piece so wide, and a stop is long enough if there is one."""
    return run <= saws.stop_reach and (figure <= saws.stop_length or not saws.stop_length)


def can_cut(part: tuple[int, int], piece: tuple[int, int], saws: Saws) -> bool:
    """Whether a part comes out of a larger piece by some order of cuts, both as (length, width).

    Two orders are all there is to try: no other piece in hand is shorter along a fence that must rip, or
    wider at one that cuts across.
    """
    (length, width), (long, wide) = part, piece

    def crosscut(run: int) -> bool:
        return length == long or reaches(Way.CROSS, run, length, saws)

    def ripped(run: int) -> bool:
        return width == wide or reaches(Way.RIP, run, width, saws)

    return (ripped(long) and crosscut(width)) or (crosscut(wide) and ripped(length))


def is_heavy(run: int, reach: int, saws: Saws) -> bool:
    """Whether a piece of these sides takes two people."""
    return min(run, reach) > saws.one_person


def machine_for(cut: Pass, saws: Saws) -> Machine | None:
    """Return where a cut is made, None when no machine of the shop reaches.

    A strip too short to be pushed along the fence is held across the sled, whichever way its grain runs. No
    stop is set for an end that is only trimmed; without one a cut on the gauge is made to a mark. Nothing
    longer than it is wide is cut across at the fence (common practice, no source).
    """
    heavy = is_heavy(cut.run, cut.reach, saws)
    fence = cut.figure <= saws.rip_width and cut.run >= cut.figure
    gauge = _on_gauge(cut.run, 0 if cut.trims else cut.figure, saws)
    stop = gauge and (cut.trims or saws.stop_length > 0)
    guide = cut.run <= saws.guide_length
    if stop and (cut.way is Way.CROSS or not fence or cut.run < LEAST_RIP_LENGTH):
        return Machine.STOP
    if heavy and guide:
        return Machine.GUIDE
    pushed = fence and not (gauge and cut.way is Way.RIP and cut.run < LEAST_RIP_LENGTH)
    if pushed and (cut.way is Way.RIP or cut.run > saws.stop_reach):
        return Machine.FENCE
    if guide:
        return Machine.GUIDE
    if gauge:
        return Machine.MARK
    ripped = cut.way is Way.RIP and cut.figure <= saws.rip_width
    return Machine.FENCE if fence or ripped else None


def cautions_for(cut: Pass, saws: Saws) -> tuple[Caution, ...]:
    """Return what to mind at a cut, from its shape and its machine alone."""
    machine, found = machine_for(cut, saws), []
    if is_heavy(cut.run, cut.reach, saws):
        found.append(Caution.TWO_PEOPLE)
    elif cut.run > SUPPORT_LENGTH and machine is Machine.FENCE:
        found.append(Caution.SUPPORT)
    if machine is None:
        found.append(Caution.OUT_OF_REACH)
    if machine in {Machine.STOP, Machine.MARK}:
        found += _at_gauge(cut)
    elif machine is Machine.FENCE and not cut.trims:
        found += _at_fence(cut)
    elif machine is Machine.GUIDE and max(cut.run, cut.reach) <= LEAST_ON_MACHINE:
        found.append(Caution.SMALL)
    return tuple(found)


def _at_fence(cut: Pass) -> list[Caution]:
    found = []
    if cut.figure < LEAST_RIP_WIDTH:
        found.append(Caution.TOO_NARROW)
    if cut.run < LEAST_RIP_LENGTH:
        found.append(Caution.SHORT_RIP)
    if found:
        return found
    if cut.run < cut.figure:
        found.append(Caution.SHORT_ALONG_FENCE)
    if cut.reach - cut.figure > SUPPORT_LENGTH:
        found.append(Caution.OVERHANG)
    if cut.figure < NARROW:
        found.append(Caution.NARROW_STRIP)
    elif cut.figure < PUSH_BLOCK_WIDTH or cut.run < PUSH_BLOCK_LENGTH:
        found.append(Caution.PUSH_BLOCK)
    return found


def _at_gauge(cut: Pass) -> list[Caution]:
    if cut.reach <= LEAST_ON_MACHINE and cut.run <= LEAST_ON_MACHINE:
        return [Caution.SMALL]
    if cut.least < LEAST_CROSSCUT:
        return [Caution.SHORT_CROSSCUT]
    found = [Caution.STOP_ONLY]
    if cut.reach - cut.figure > 2 * SUPPORT_LENGTH:
        found.append(Caution.OVERHANG)
    return found
