"""Counts of parts packed into whole numbers: several bits a part, the highest of them a guard.

One addition and one mask then tell whether two sets of parts go together within the demand.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

# Bits of a machine word; no part's bits lie in two of them.
WORD = 64


class Packed:
    """Counts of each part, each with its own bits of one whole number of any length."""

    def __init__(self, most: Sequence[int]) -> None:
        """`most[k]`: how many of part k there may be; a part of which there may be none is not counted."""
        self.one: list[int] = []
        """What stands for one of each part."""
        self._guards = self._spare = self._end = 0
        for n in most:
            if not n:
                self.one.append(0)
                continue
            width = n.bit_length() + 1
            if self._end % WORD + width > WORD:
                self._end += -self._end % WORD
            self.one.append(1 << self._end)
            self._guards |= 1 << (self._end + width - 1)
            self._spare |= ((1 << (width - 1)) - 1 - n) << self._end
            self._end += width

    def too_many(self, counts: int) -> bool:
        """Whether a sum of two allowed counts holds more of some part than there may be."""
        return bool((counts + self._spare) & self._guards)

    def words(self) -> tuple[Any, Any, Any]:
        """Return the same in machine words: one of each part; the spare and the guard bits of all."""
        starts = range(0, max(1, self._end), WORD)

        def cut(number: int) -> list[int]:
            return [number >> s & (1 << WORD) - 1 for s in starts]

        ones = np.array([cut(n) for n in self.one], np.uint64)
        return ones, np.array(cut(self._spare), np.uint64), np.array(cut(self._guards), np.uint64)
