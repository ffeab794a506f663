"""What of a time limit is kept for the end of a run: polish, the last hand, handing over."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Polish:
    """What of the time is kept to polish a plan, as shares of the limit and in seconds."""

    proven: float = 0.4
    """Share once money is proved least,"""
    unproven: float = 0.3
    """before that,"""
    large: float = 0.05
    """for a large job while money, or net material where nothing is paid, may be less,"""
    no_kerf: float = 0.03
    """and without a kerf, where nothing is really sawn."""
    any: float = 0.6
    """The most seconds for any job,"""
    part: float = 0.08
    """for each of its parts,"""
    most: float = 4.0
    """and for all."""


@dataclass(frozen=True, slots=True)
class LastHand:
    """What of the time is kept for the last hand on a plan, which orders and verifies its cuts."""

    timed: int = 300
    """Parts beyond which it is timed beforehand;"""
    part: float = 0.001
    """with fewer, the seconds for each part."""
    sample: int = 60
    """Patterns that it is timed on, at least."""
    slower: float = 1.6
    """How much more it may take in the end."""
    others: float = 0.3
    """What a layout equal to another takes beside that one, at least."""
    most: float = 0.5
    """The most of the limit that is kept for it,"""
    best: float = 0.15
    """and for few fence moves."""
    handed: float = 3e-5
    """Seconds in which a part of a plan is handed from one process to the other, verified and written."""


@dataclass(frozen=True, slots=True)
class Sawn:
    """Share of the limits that a routed job's search on cut trees may take; free placement begins from it."""

    first: float = 0.4
    """For any job,"""
    tight: float = 0.15
    """and where one sheet would be all but full: free placement alone may close it."""


@dataclass(frozen=True, slots=True)
class Watch:
    """How the end of a run is watched over, in seconds."""

    switch: float = 0.0005
    """After which a thread must let another one have the interpreter."""
    look: float = 0.05
    """Between two looks at how long the last hand on the plan will take."""
    grace: float = 0.15
    """In which the search may end by itself once it must; then its best is taken from it."""
    ahead: float = 1.0
    """For which a best answer has stood before its plan is made ahead,"""
    ahead_parts: int = 10_000
    """in a job of so many parts,"""
    ahead_left: float = 3.0
    """where so much is left to search."""
    at_once: float = 0.3
    """From there to the plan where the user stopped it."""
    start: float = 8.0
    """That a first plan may take beyond the limit, for any job,"""
    start_part: float = 0.004
    """for each part,"""
    start_stopped: float = 0.5
    """and once the user has stopped it."""


POLISH, LAST_HAND, SAWN, WATCH = Polish(), LastHand(), Sawn(), Watch()
