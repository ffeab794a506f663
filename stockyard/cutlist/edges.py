"""Banded edges: what the codes say, and the cut size under a finished one."""

from __future__ import annotations

import re
from collections.abc import Sequence

ALL_EDGES = ("L1", "L2", "W1", "W2")
_CODE = re.compile(r"([1-4])?([LSWK])", re.IGNORECASE)
_NONE = frozenset(("", "-", "0", "none", "no", "n", "keine", "ohne", "aucun", "n/a"))
_ALL = frozenset(("4", "all", "alle", "tous", "rundum", "all round", "4 sides", "4 edges"))
_OPEN = {"1": ("L1", "W1"), "2": ("L1+L2", "W1+W2", "L1+W1"), "3": ("L1+L2+W1", "L1+W1+W2")}


class EdgesUnclear(ValueError):
    """A banding code with more than one reading, or none; `readings` are codes that say it clearly."""

    def __init__(self, message: str, readings: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.readings = readings


def banded(code: str, length: int, width: int) -> tuple[str, ...]:
    """Return the banded edges of a part (L1 L2 along its length, W1 W2 along its width).

    Codes: 1L, 2L1S, 4, LLSS, L1+W2, none. L beside S is the longer side; L beside W the length.

    Raises:
        EdgesUnclear: "2" and the like, or no code at all.
    """
    text = code.strip().casefold()
    if text in _NONE:
        return ()
    if text in _ALL:
        return ALL_EDGES
    if text in _OPEN:
        raise EdgesUnclear(f"{text} banded edges: which?", _OPEN[text])
    named = tuple(sorted(set(re.split(r"[\s,+/&]+", text.upper()))))
    if all(edge in ALL_EDGES for edge in named):
        return named
    return _counted(code, re.sub(r"[\s,+/&]", "", text), length, width)


def _counted(code: str, text: str, length: int, width: int) -> tuple[str, ...]:
    counts = {"L": 0, "S": 0, "W": 0}
    at = 0
    while at < len(text):
        m = _CODE.match(text, at)
        if not m:
            raise EdgesUnclear(f"'{code.strip()[:20]}' is no banding code: write 1L, 2L1S, 4 or none")
        letter = "S" if m[2].upper() == "K" else m[2].upper()
        counts[letter] += int(m[1] or 1)
        at = m.end()
    if max(counts.values()) > 2 or (counts["S"] and counts["W"]):
        raise EdgesUnclear(f"'{code.strip()[:20]}' bands more edges than there are")
    if counts["L"] and not counts["S"] and not counts["W"] and length < width:
        raise EdgesUnclear(
            f"'{code.strip()[:20]}': the longer edges, or those along the length?", ("L1", "W1")
        )
    turned = counts["S"] > 0 and length < width
    along, across = counts["L"], counts["S"] + counts["W"]
    if turned:
        along, across = across, along
    return tuple(f"L{i + 1}" for i in range(along)) + tuple(f"W{i + 1}" for i in range(across))


def told(code: str) -> str:
    """Say in words what a code of named edges such as L1+W1 bands."""
    along, across = code.count("L"), code.count("W")
    both = (f"{along} along the length" if along else "", f"{across} along the width" if across else "")
    return " and ".join(text for text in both if text)


def cut_size(length: int, width: int, bands: Sequence[str], thickness: int) -> tuple[int, int]:
    """Return the cut (length, width) of a finished size with these edges banded `thickness` thick, in ticks.

    A band on an edge along the length takes its thickness from the width, and the other way round.
    """
    on_width = sum(1 for edge in bands if edge.startswith("L"))
    on_length = sum(1 for edge in bands if edge.startswith("W"))
    return length - on_length * thickness, width - on_width * thickness
