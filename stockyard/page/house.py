"""What one server holds, shared by all its requests."""

from __future__ import annotations

import socket
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from typing import TypeVar, cast

from stockyard.desk.door import Yardkeeper
from stockyard.page.keys import Keys, Station
from stockyard.page.pairing import Pairing
from stockyard.page.runs import Runs
from stockyard.page.watch import Watch

LOCAL_HOSTS = frozenset({"localhost", "127.0.0.1", "::1"})
_MOST_ONCE = 5000
_MOST_KEPT = 100
T = TypeVar("T")


@dataclass(slots=True)
class Once:
    """Forms that were sent already, by the mark each carries, and where their sender was led then."""

    led: OrderedDict[str, str] = field(default_factory=OrderedDict)
    lock: Lock = field(default_factory=Lock)

    def seen(self, mark: str) -> str | None:
        """Return where the same form led before."""
        with self.lock:
            return self.led.get(mark)

    def note(self, mark: str, to: str) -> None:
        """Keep where a form led."""
        with self.lock:
            self.led[mark] = to
            while len(self.led) > _MOST_ONCE:
                self.led.popitem(last=False)


@dataclass(slots=True)
class Kept:
    """What was read of one state of the yard: values that never change, each under what was asked.

    A state is known by its last deed, its file and the day; the next deed makes all of it old.
    """

    found: OrderedDict[tuple[object, ...], object] = field(default_factory=OrderedDict)
    lock: Lock = field(default_factory=Lock)

    def get(self, key: tuple[object, ...], read: Callable[[], T]) -> T:
        """Return what is kept under a key, or read it now."""
        with self.lock:
            if key in self.found:
                self.found.move_to_end(key)
                return cast(T, self.found[key])
        made = read()
        with self.lock:
            self.found[key] = made
            while len(self.found) > _MOST_KEPT:
                self.found.popitem(last=False)
        return made


@dataclass(frozen=True, slots=True, kw_only=True)
class House:
    """One server: its yard, its keys and codes. `network`: new stations pair, others than here may come."""

    yard: Path
    keys: Keys
    pairing: Pairing
    network: bool = False
    names: frozenset[str] = LOCAL_HOSTS
    once: Once = field(default_factory=Once)
    kept: Kept = field(default_factory=Kept)
    planners: int = 1
    watch: Watch = field(init=False)
    runs: Runs = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "watch", Watch(Yardkeeper(self.yard, "watch")))
        object.__setattr__(self, "runs", Runs(self.watch.nudge, self.planners))

    def keeper(self, station: Station) -> Yardkeeper:
        """Return the keeper of the yard for what this station does."""
        return Yardkeeper(self.yard, station.name)

    def may_enter(self, station: Station) -> bool:
        """Whether a station may see the shop."""
        return station.paired or not self.network


def own_names(extra: tuple[str, ...] = ()) -> frozenset[str]:
    """Return the names by which this machine is called on the shop's network, without its addresses."""
    host = socket.gethostname().lower().rstrip(".")
    short = host.partition(".")[0]
    names = {host, short, f"{short}.local"} - {""}
    return LOCAL_HOSTS | names | {name.lower().rstrip(".") for name in extra}


def own_address() -> str:
    """Return the address by which the shop's network reaches this machine. Nothing is sent."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # a documentation address (RFC 5737): only the route is asked
            return str(probe.getsockname()[0])
        except OSError:
            return "127.0.0.1"
