"""What is said beside a part: grain, finished or cut, ripped from what."""

from __future__ import annotations

import re

from stockyard.cutlist.words import ACROSS_WORDS, ALONG_WORDS, ANY_WORDS, CUT_WORDS, FINISHED_WORDS, word_set

_GRAIN = re.compile(r"\bgrain\b[ :=]{0,3}(\w+)?|\b(any|no|either)\s+grain\b|\b(rotate)\s+ok\b", re.IGNORECASE)
NO_SHEET = r"(?!\s+(?:sheets?|panels?|feet|foot|ft)\b)"
"""What follows two figures that are lumber: not what makes them a sheet's."""
_RIP = re.compile(
    r"\b(?:to\s+be\s+)?(?:rip|ripped|cut|cuts)\s+from\s+(?:an?\s+)?(\d{1,2}(?:/4)?)\s?x\s?(\d{1,2})\b"
    rf"{NO_SHEET}",
    re.IGNORECASE,
)
_WORD = re.compile(r"[^\W\d_]+")
_ABOUT_SIZES = word_set("all sizes size are is in the length lengths width widths to dimensions")
ASK = "ask"


def grain_said(text: str) -> str:
    """Return along, across, any; `ask` for a word that needs asking ("grain up"); "" if nothing is said."""
    if "rain" not in text.casefold() and "rotate" not in text.casefold():
        return ""
    m = _GRAIN.search(text)
    if not m:
        return ""
    if m[2] or m[3]:
        return "any"
    return grain_word(m[1] or "?")


def grain_word(word: str) -> str:
    """Return what one word of a grain column says: along, across, any, "" when empty, else `ask`."""
    folded = word.strip().casefold()
    if not folded:
        return ""
    if folded in ALONG_WORDS:
        return "along"
    if folded in ACROSS_WORDS:
        return "across"
    return "any" if folded in ANY_WORDS else ASK


def rip_from(text: str) -> str | None:
    """Return the lumber a note says to rip from: "rip from 2x4" -> "2x4"."""
    m = _RIP.search(text)
    return f"{m[1]}x{m[2]}" if m else None


def rip_at(text: str) -> tuple[int, int] | None:
    """Return where that stands in a note."""
    m = _RIP.search(text)
    return m and m.span()


def is_grain(text: str) -> bool:
    """Whether these words speak of the grain and of nothing else."""
    m = _GRAIN.search(text)
    return m is not None and not _WORD.search(text[: m.start()] + text[m.end() :])


def finished_said(text: str) -> bool | None:
    """Return True for "finished sizes" and the like, False for "cut size", None when words say neither.

    "Oil finish" and "cut list" say nothing of sizes.
    """
    words = [w.casefold() for w in _WORD.findall(text)]
    telling = [w for w in words if w not in _ABOUT_SIZES]
    if len(telling) != 1 or telling[0] not in FINISHED_WORDS | CUT_WORDS:
        return None
    return telling[0] in FINISHED_WORDS


def finished_column(text: str) -> bool | None:
    """Return True when the title of a column says finished sizes, False for cut ones, None for neither."""
    words = {w.casefold() for w in _WORD.findall(text)}
    if words & FINISHED_WORDS:
        return True
    return False if words & CUT_WORDS and not _RIP.search(text) else None
