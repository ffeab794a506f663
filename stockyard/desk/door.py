"""The way in: a yard's keeper, who opens it anew for every call."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from stockyard.settings import Settings
from stockyard.yard import Yard
from stockyard.yard.opening import new_yard, open_yard
from stockyard.yard.store import STATION

__all__ = ["STATION", "Settings", "Yard", "Yardkeeper", "make_yard"]


@dataclass(frozen=True, slots=True)
class Yardkeeper:
    """One yard and the station that works on it. Threads may share a keeper, never an open yard."""

    path: Path
    station: str = STATION

    def open(self) -> Yard:
        """Open the yard for one call; use it as a context manager.

        Raises:
            BadInput: there is no yard, or the station has no name.
            Refused: it is busy, damaged, or from a newer version.
        """
        return open_yard(self.path, station=self.station)


def make_yard(path: Path, settings: Settings) -> tuple[Path, ...]:
    """Make an empty yard; return any logs of other yards that lay there and were put aside.

    Raises:
        Refused: something is there already, or the folder cannot be written.
    """
    with new_yard(path, settings) as made:
        return made.strays
