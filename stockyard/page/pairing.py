"""Codes that let a new browser in: shown on the server's screen, good once, and slow to guess."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from hmac import compare_digest
from threading import Lock
from time import monotonic

# Capitals and figures that are not mistaken for one another.
ALPHABET = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
LENGTH = 8
FREE_TRIES = 3
LONGEST_WAIT = 60.0
# After so many wrong ones the code is another: guessing goes on from nothing.
WRONG_BEFORE_NEW = 20


class TooSoon(Exception):
    """Codes are tried too fast; `seconds` until the next may be."""

    def __init__(self, seconds: float) -> None:
        super().__init__(f"wait {seconds:.0f} s")
        self.seconds = seconds


def new_code() -> str:
    """Return a code: 39 bits of chance, written in two groups."""
    return "".join(secrets.choice(ALPHABET) for _ in range(LENGTH))


def written(code: str) -> str:
    """Return a code as it is shown."""
    return f"{code[:4]} {code[4:]}"


@dataclass(slots=True)
class Pairing:
    """The code of the moment. `changed` is told of each new one, to show it.

    Wrong codes make everybody wait, from whatever address they come: a shop pairs seldom.
    """

    changed: Callable[[str], None] = lambda _: None
    clock: Callable[[], float] = monotonic
    code: str = field(default_factory=new_code)
    wrong: int = 0
    until: float = 0.0
    _lock: Lock = field(default_factory=Lock)

    def take(self, given: str) -> bool:
        """Whether the code is right; then it is used up.

        Raises:
            TooSoon: too many were wrong; nothing was looked at.
        """
        with self._lock:
            left = self.until - self.clock()
            if left > 0:
                raise TooSoon(left)
            plain = "".join(given.upper().split()).replace("-", "")
            if compare_digest(plain.encode("utf-8", "replace"), self.code.encode("ascii")):
                self.wrong, self.until = 0, 0.0
                self._renew()
                return True
            self.wrong += 1
            if self.wrong >= FREE_TRIES:
                self.until = self.clock() + min(LONGEST_WAIT, 2.0 ** (self.wrong - FREE_TRIES))
            if self.wrong % WRONG_BEFORE_NEW == 0:
                self._renew()
            return False

    def _renew(self) -> None:
        self.code = new_code()
        self.changed(self.code)
