"""How a hunt divides its time between the things it can do."""

from __future__ import annotations

from dataclasses import dataclass

from stockyard.planning.recreate import kernel


@dataclass(frozen=True, slots=True)
class Rhythm:
    """When each move of a hunt is due. Rounds take 50 to 100 ms; shares are of the time left."""

    offcuts: int = 400
    """One-off offcuts looked at."""
    offcuts_large: int = 3000
    """The same for a large job, which may need them all."""
    snug: float = 0.5
    """Share of these that suit single parts best; the others are spread over all sizes."""
    round_work: int = 300_000
    """Steps of one round over all parts and stock rows."""
    alone: int = 4
    """Rounds that one searcher takes beside the bound or the choice when nothing may depend on the clock."""
    flawed_every: int = 2
    """Turns between two in which pieces with flaws are laid out."""
    choice_every: int = 6
    """Rounds between two choices or dives."""
    choice_aside: int = 3
    """Beside the proof every so many times there is a choice, else a dive."""
    tight: float = 0.005
    """A plan for less money that may waste no more than this share is a matter of joins without waste."""
    join_soon: int = 1
    """Rounds between two searches for such joins where it is."""
    join_seldom: int = 10
    """The same where it is not."""
    join_seconds: float = 0.6
    """What such a search may take."""
    early: int = 4
    """Rounds before the first dive, which comes before the bound."""
    early_share: float = 0.2
    """Share of the time that dive may take."""
    early_seconds: float = 1.5
    """What it may take in any case."""
    filled: float = 0.7
    """Least filled share of the layouts that are pooled."""
    stalled: int = 4
    """Rounds without a better answer after which layouts are priced."""
    stalled_one_kind: int = 30
    """The same with one kind of piece, where the search alone goes far."""
    stuck: int = 4
    """Rounds without a better answer after which there is a dive or a choice before the bound is there."""
    stuck_one_kind: int = 12
    """The same with one kind of piece."""
    many_parts: int = 3000
    """With more parts one start must do, and trees are tidied only at the end."""
    large: int = 300
    """From so many parts on a plan is made wholesale first."""
    wholesale_share: float = 0.75
    """Share of the time for that."""
    wholesale_free: float = 0.45
    """The same where offcuts alone may do: net material is then all there is to prove, which takes longer."""
    growth_first: int = 2
    """Rounds at first in which plans for less money are grown part by part,"""
    growth_every: int = 3
    """and those between two times later."""
    again_every: int = 8
    """Rounds between two times that some layouts of a large job are planned again wholesale."""
    again_seconds: float = 1.5
    """What planning some layouts of a large job again may take."""
    starts: tuple[int, ...] = (kernel.LARGE_FIRST, kernel.LONG_FIRST, kernel.WIDE_FIRST)
    """Orders of the parts for first answers."""
