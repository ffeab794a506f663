"""What a search can do next, as a table: the first move that is due is made, and what came of it is kept."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from time import monotonic


@dataclass(slots=True)
class Move:
    """One thing to do: when it is due, and how with so many threads of a team (what it needs).

    tries, seconds, gains: how often it was made, what that cost, and how often a better answer came of it.
    """

    name: str
    due: Callable[[], bool]
    make: Callable[[ThreadPoolExecutor, int], None]
    tries: int = 0
    seconds: float = 0.0
    gains: int = 0


class Moves:
    """A table of moves in the order they are asked."""

    def __init__(self, answer: Callable[[], object], table: Sequence[Move]) -> None:
        """`answer`: the best one so far, another whenever it is better."""
        self.table, self._answer = tuple(table), answer

    def make_next(self, team: ThreadPoolExecutor, hands: int) -> bool:
        """Make the first move that is due with `hands` threads of `team`; return whether there was one."""
        move = next((m for m in self.table if m.due()), None)
        if move is None:
            return False
        before, begun = self._answer(), monotonic()
        move.make(team, hands)
        move.tries += 1
        move.seconds += monotonic() - begun
        move.gains += self._answer() is not before
        return True
