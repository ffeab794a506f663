"""One stream a page: it says when the yard has changed, so that a page may look again."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event, Lock, Thread

from stockyard.desk import history
from stockyard.desk.door import Yardkeeper
from stockyard.errors import StockyardError

# Seconds between two looks at the ledger, while anybody follows.
LOOK = 0.25
# Seconds after which a stream says that it is alive, so that a lost one is found out.
BREATH = 15.0


@dataclass(slots=True)
class Watch:
    """Looks at the ledger for all streams of a server: one thread, idle while nobody follows."""

    keeper: Yardkeeper
    deed: int = 0
    extra: int = 0
    _followers: int = 0
    _wake: Event = field(default_factory=Event)
    _lock: Lock = field(default_factory=Lock)
    _thread: Thread | None = None

    def nudge(self) -> None:
        """Let every page look again for something that is not in the ledger: a plan in the making."""
        with self._lock:
            self.extra += 1

    @property
    def state(self) -> str:
        """What pages compare: the last deed, and how often plans in the making have moved."""
        return f"{self.deed}.{self.extra}"

    async def follow(self) -> AsyncIterator[str]:
        """Yield events for as long as somebody listens: at once, and whenever the state is another."""
        self._begin()
        try:
            told, since = "", 0.0
            yield "retry: 1000\n\n"
            while True:
                if self.state != told and (self.deed or since > LOOK):
                    told, since = self.state, 0.0
                    yield f"data: {told}\n\n"
                elif since >= BREATH:
                    since = 0.0
                    yield ": here\n\n"
                await asyncio.sleep(LOOK)
                since += LOOK
        finally:
            with self._lock:
                self._followers -= 1

    def _begin(self) -> None:
        with self._lock:
            self._followers += 1
            self._wake.set()
            if self._thread is None:
                self._thread = Thread(target=self._look, daemon=True, name="watch")
                self._thread.start()

    def _look(self) -> None:
        """Look for as long as the server lives; what is wrong with the yard is a page's to say."""
        while True:
            self._wake.wait()
            try:
                self._look_at_one_file()
            except StockyardError:
                self.deed = 0
                Event().wait(1.0)

    def _look_at_one_file(self) -> None:
        """Look at the ledger until the file is another one (a backup was restored) or nobody follows."""
        with self.keeper.open() as yard:
            same = identity(self.keeper.path)
            while identity(self.keeper.path) == same:
                newest = history.deeds(yard, limit=1)
                self.deed = newest[0].id if newest else 0
                with self._lock:
                    if not self._followers:
                        self._wake.clear()
                        return
                Event().wait(LOOK)


def identity(path: Path) -> tuple[int, int] | None:
    """Return what tells a file from one put in its place, None when there is none."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino
