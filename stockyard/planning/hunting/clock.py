"""The time that a search has for its turn, and whether it must end."""

from __future__ import annotations

from collections.abc import Callable
from time import monotonic

FOREVER = 1e6


class Clock:
    """Begun anew with each turn."""

    def __init__(self, stop: Callable[[], bool] | None = None, *, repeatable: bool = False) -> None:
        """`repeatable`: let nothing depend on the clock. `stop`: whether the user has stopped it."""
        self.repeatable = repeatable
        self._stop = stop or (lambda: False)
        self._deadline = 0.0

    def begin(self, seconds: float) -> None:
        """Begin a turn of so many seconds."""
        self._deadline = monotonic() + (FOREVER if self.repeatable else seconds)

    def left(self) -> float:
        """Return the seconds left for this turn."""
        return max(0.01, self._deadline - monotonic())

    def must_end(self) -> bool:
        """Whether the time of this turn is over, or the user has stopped it."""
        return (not self.repeatable and monotonic() > self._deadline) or self._stop()
