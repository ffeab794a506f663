"""Letters and words beside the figures of a size: which measure of a part each figure is."""

from __future__ import annotations

import re
from collections.abc import Iterator

from stockyard.cutlist.figures import FIGURE

_WORDS = {
    "L": "l lg long length", "W": "w wide width", "H": "h high height", "D": "d deep depth",
    "T": "t thick thk thickness",
}  # fmt: skip
MARKS = {word: mark for mark, words in _WORDS.items() for word in words.split()}
SAYS = {"L": "length", "W": "width", "H": "height", "D": "depth", "T": "thickness"}

_MARK = "(?:" + "|".join(sorted(MARKS, key=len, reverse=True)) + ")"
_JOINT = r"\s*(?:[x×✕✖х*]|by\b)\s*"
_GAP = r"(?:\s*[,;/]\s*|\s+)"
_ENDS = r"(?:(?=[x×*]\s?[\d.,])|(?![^\W_]|\s?[:=]))"
_AFTER = rf"{FIGURE}\s?{_MARK}{_ENDS}"
_BEFORE = rf"{_MARK}\s?[:=]?\s?{FIGURE}(?:(?=[x×*])|(?!\w|\s?{_MARK}(?![^\W_]|\s?[:=]?\s?[\d.])))"
_BARE = rf"(?:{_JOINT}{FIGURE}(?![^\W_]|\s?{_MARK}\b))?"
_PHRASE = re.compile(
    rf"(?:(?<![^\W_]){_BEFORE}(?:(?:{_JOINT}|{_GAP}){_BEFORE}){{1,2}}"
    rf"|{_AFTER}(?:(?:{_JOINT}|{_GAP}){_AFTER}){{1,2}}){_BARE}",
    re.IGNORECASE,
)
_BITS = rf"(?P<fig>{FIGURE})|\s*(?P<x>[x×✕✖х*]|by\b)\s*|%s(?P<word>{_MARK})|(?P<gap>{_GAP})|."
_MARK_FIRST = re.compile(_BITS % "", re.IGNORECASE)
_FIGURE_FIRST = re.compile(_BITS % r"\s?", re.IGNORECASE)

Bit = tuple[str, str, int, int]


def marked_size(line: str, at: int) -> list[Bit]:
    """Return the bits of a size whose figures carry marks ("W860 x D300", "900L, 300W") at `at`, else none.

    A bit is (kind, text, start, end) with kind fig, word or x; a mark comes after its figure, whichever
    side it was written on, and what parts two figures is an x.
    """
    found = _PHRASE.match(line, at)
    if not found:
        return []
    bits = list(_bits(line, at, found.end()))
    # "1L 2W" names banded edges, and "2 L" may be a count: only an x makes a size of single digits.
    loose = any(kind == "x" and not text.strip(" ,;/") for kind, text, *_ in bits)
    if loose and any(kind == "fig" and len(text) == 1 for kind, text, *_ in bits):
        return []
    return bits


def _bits(line: str, at: int, end: int) -> Iterator[Bit]:
    mark_first = line[at].isalpha()
    held: Bit | None = None
    for m in (_MARK_FIRST if mark_first else _FIGURE_FIRST).finditer(line, at, end):
        kind = m.lastgroup
        if kind is None or (kind == "gap" and held):
            continue
        bit = ("x" if kind == "gap" else kind, m[kind], *m.span(kind))
        if kind == "word" and mark_first:
            held = bit
            continue
        yield bit
        if kind == "fig" and held:
            yield held
            held = None
