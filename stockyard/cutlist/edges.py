"""Banded edges: what the codes and the words about them say."""

from __future__ import annotations

import re
from collections.abc import Sequence

from stockyard.bands import EDGES as ALL_EDGES
from stockyard.cutlist.words import word_set

_CODE = re.compile(r"([1-4])?([LSWK])", re.IGNORECASE)
_NONE = frozenset(("", "-", "0", "none", "no", "n", "keine", "ohne", "aucun", "n/a"))
_ALL = frozenset(("4", "all", "alle", "tous", "rundum", "all round", "4 sides", "4 edges"))
BAND_NOUNS = word_set(
    "band bands banding edging edgeband edgebanding edge-band edge-banding eb tape lipping lippings"
)
BAND_WORDS = BAND_NOUNS | word_set(
    "banded edged edgebanded edge-banded edgebands edge-bands lipped umleimer angeleimt"
)
EDGE_WORDS = word_set("""
    all both each every round around long short longs shorts edge edges side sides end ends front back top
    bottom left right the on with of and only to a an 1 2 3 4 one two three four l s w
    """)
# Before words that may mean bands, or may not: they are asked.
UNSURE = "?"
_OPEN = {"1": ("L1", "W1"), "2": ("L1+L2", "W1+W2", "L1+W1"), "3": ("L1+L2+W1", "L1+W1+W2")}


_USUAL = ("L1", "L1+L2", "W1", "W1+W2", "L1+L2+W1+W2")
_PLACES = word_set("front back top bottom left right")
_SMALL = word_set("the on with of and only to a an each every")
_SIDE = {"long": "L", "longs": "L", "l": "L", "short": "S", "shorts": "S", "s": "S", "w": "W"}
_FIGURES = {"one": "1", "two": "2", "three": "3", "four": "4", "every": "all", "each": "all"}
_COUNTED = re.compile(r"(?:[1-4][lsw]){1,2}")
_WORD = re.compile(r"[^\W_][\w-]*")


class EdgesUnclear(ValueError):
    """A banding code with more than one reading, or none; `readings` are codes that say it clearly."""

    def __init__(self, message: str, readings: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.readings = readings


def banded(code: str, length: int, width: int) -> tuple[str, ...]:
    """Return the banded edges of a part (L1 L2 along its length, W1 W2 along its width).

    Codes: 1L, 2L1S, 4, LLSS, L1+W2, none. L beside S is the longer side; L beside W the length.

    Words are read too: "front edge banded, 1 long", "edged all round".

    Raises:
        EdgesUnclear: "2" and the like, or no code at all.
    """
    if code.startswith(UNSURE):
        raise _unsure(code.removeprefix(UNSURE).strip(), length, width)
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
            return _in_words(code, length, width)
        letter = "S" if m[2].upper() == "K" else m[2].upper()
        counts[letter] += int(m[1] or 1)
        at = m.end()
    if max(counts.values()) > 2 or (counts["S"] and counts["W"]):
        raise EdgesUnclear(f"'{code.strip()[:20]}' bands more edges than there are")
    if counts["L"] and not counts["S"] and not counts["W"] and length < width:
        raise EdgesUnclear(
            f"'{code.strip()[:20]}': the longer edges, or those along the length?",
            ("L1+L2", "W1+W2") if counts["L"] > 1 else ("L1", "W1"),
        )
    turned = counts["S"] > 0 and length < width
    along, across = counts["L"], counts["S"] + counts["W"]
    if turned:
        along, across = across, along
    return tuple(f"L{i + 1}" for i in range(along)) + tuple(f"W{i + 1}" for i in range(across))


def _in_words(code: str, length: int, width: int) -> tuple[str, ...]:
    """Read words such as "banded front, 1 long" or "both short edges edged"."""
    words = [_FIGURES.get(w, w) for w in _WORD.findall(code.casefold()) if w not in BAND_WORDS]
    if words and all(w.upper() in ALL_EDGES for w in words):
        return tuple(sorted({w.upper() for w in words}))
    if unknown := [w for w in words if w not in EDGE_WORDS and not _COUNTED.fullmatch(w)]:
        raise EdgesUnclear(f"'{unknown[0][:20]}' is no banding code: write 1L, 2L1S, 4 or none")
    words = [w for w in words if w not in _SMALL]
    places = [w for w in words if w in _PLACES]
    rest = [w for w in words if w not in _PLACES]
    many = bool({"edges", "sides", "longs", "shorts", "ends"} & set(rest))
    plain = [w for w in rest if w not in ("edge", "edges", "side", "sides")]
    if plain in (["all"], ["all", "round"], ["round"], ["4"], ["all", "4"], ["all", "around"], ["around"]):
        return _agreed(code, ALL_EDGES, 4 if len(places) in (0, 4) else len(places))
    counts = _sides(plain, many=many)
    if counts:
        edges = _counted(code, "".join(f"{n}{side}" for side, n in counts), length, width)
        return _agreed(code, edges, len(places) or len(edges))
    if places or (not plain):
        about = f"'{code.strip()[:40]}': which edges?"
        raise EdgesUnclear(about, _OPEN.get(str(len(places)), _USUAL) if places else _USUAL)
    if len(plain) == 1 and plain[0] in _OPEN:
        raise EdgesUnclear(f"'{code.strip()[:40]}': which edges?", _OPEN[plain[0]])
    raise EdgesUnclear(f"'{code.strip()[:40]}': which edges?", _USUAL)


def _sides(words: Sequence[str], *, many: bool) -> list[tuple[str, int]]:
    """Return how many long and short edges words such as "1 long 2 short" name, [] if that is not clear."""
    found: list[tuple[str, int]] = []
    n = 0
    for word in words:
        if m := _COUNTED.fullmatch(word):
            found += [(side.upper(), int(k)) for k, side in re.findall(r"([1-4])([lsw])", m[0])]
        elif word in ("1", "2", "both"):
            n = 2 if word in ("2", "both") else 1
        elif word in _SIDE:
            found.append((_SIDE[word], n or (2 if many else 1)))
            n = 0
        elif word == "all":
            n = 2
        else:
            return []
    sides = [side for side, _ in found]
    return found if not n and len(set(sides)) == len(sides) else []


def _agreed(code: str, edges: tuple[str, ...], wanted: int) -> tuple[str, ...]:
    """Return the edges if there are as many as the places named ("front and back, 2 long")."""
    if len(edges) != wanted:
        raise EdgesUnclear(f"'{code.strip()[:40]}': which edges?", ("+".join(edges), *_USUAL))
    return edges


def _unsure(words: str, length: int, width: int) -> EdgesUnclear:
    """Return the doubt about words that may mean bands or not."""
    try:
        readings = ["+".join(_in_words(words, length, width))]
    except EdgesUnclear as doubt:
        readings = list(doubt.readings)
    return EdgesUnclear(f"'{words[:40]}': are edges banded, and which?", tuple(r for r in readings if r))


def told(code: str) -> str:
    """Say in words what a code of named edges such as L1+W1 bands."""
    along, across = code.count("L"), code.count("W")
    both = (f"{along} along the length" if along else "", f"{across} along the width" if across else "")
    return " and ".join(text for text in both if text)
