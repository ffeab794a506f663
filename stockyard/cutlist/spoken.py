"""Figures said in words: "quarter inch", "three quarter ply", "twelve and a half", "six feet two"."""

from __future__ import annotations

import re
from typing import NamedTuple

from stockyard.cutlist.words import KIND_WORDS, MATERIAL_WORDS

_ONES = (
    "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_DENOMINATORS = {
    "half": 2, "halves": 2, "quarter": 4, "quarters": 4, "eighth": 8, "eighths": 8, "sixteenth": 16,
    "sixteenths": 16,
}  # fmt: skip
FRACTION_WORDS = frozenset((*_DENOMINATORS, "thirds", "thirty-seconds"))

NUMBER = (
    rf"(?:(?:{'|'.join(_TENS)})(?:[ -](?:{'|'.join(_ONES[:9])}))?|{'|'.join(sorted(_ONES, key=len)[::-1])})"
)
_FRACTION = "|".join(_DENOMINATORS)
_INCH = r"(?:\s?\"|[ -](?:inches|inch)\b|[ ]in\b\.?(?=\s*(?:$|[x×*@,;:)]|by\b)))"
_METRIC = r"(?:mm|millimet(?:re|er)s?|cm|centimet(?:re|er)s?)"
_OF_AN = r"(?:[ ](?:of[ ])?an?(?=[ ]inch\b))?"
_WORDED = re.compile(
    rf"(?:(?P<whole>{NUMBER}|\d{{1,3}})[ ]and[ ](?:a[ ])?)?"
    rf"(?:(?P<top>{NUMBER}|\d{{1,2}})[ -])?(?P<under>{_FRACTION})\b{_OF_AN}(?P<inch>{_INCH})?",
    re.IGNORECASE,
)
_AND = re.compile(
    rf"(?P<whole>{NUMBER}|\d{{1,3}})[ ]and[ ](?P<top>\d{{1,2}})/(?P<under>\d{{1,2}})(?![\d/])"
    rf"(?P<inch>{_INCH})?",
    re.IGNORECASE,
)
_FEET = re.compile(
    rf"(?P<feet>{NUMBER})[ -](?:feet|foot|ft)\b(?:[ ](?:and[ ])?(?P<inches>{NUMBER})\b(?P<inch>{_INCH})?)?",
    re.IGNORECASE,
)
_MARKED = re.compile(rf"(?P<number>{NUMBER})(?:(?P<inch>{_INCH})|[ -](?P<metric>{_METRIC})\b)", re.IGNORECASE)
_JOINED = re.compile(rf"(?P<number>{NUMBER})\b(?=\s+(?:by|x)\s+(?:{NUMBER}\b|\d))", re.IGNORECASE)
_SECOND = re.compile(rf"(?P<number>{NUMBER})\b", re.IGNORECASE)
_STARTS = frozenset("ofnthseqOFNTHSEQ0123456789")
_NEXT_WORD = re.compile(r"\s*-?\s*([^\W\d_]+)")
_SOLID = MATERIAL_WORDS | KIND_WORDS


class Spoken(NamedTuple):
    """A figure said in words: the same in figures, and where it ends.

    `counts` is the number word before a fraction ("three" quarter inch), which may be how many instead.
    """

    text: str
    end: int
    counts: int = 0


def number(words: str) -> int:
    """Return the whole number in words or figures: "twenty-four" -> 24."""
    total = 0
    for word in words.casefold().replace("-", " ").split():
        if word.isdigit():
            total += int(word)
        elif word in _ONES:
            total += _ONES.index(word) + 1
        else:
            total += 20 + 10 * _TENS.index(word)
    return total


def is_spoken(text: str) -> bool:
    """Whether a text holds a figure in words."""
    return any(spoken(text, at, after_by=False) for at, c in enumerate(text) if c in _STARTS)


def spoken(line: str, at: int, *, after_by: bool) -> Spoken | None:
    """Return the figure in words that begins at `at`, None if there is none.

    A fraction without an inch word ("three quarter", "half") counts as one beside a material word or with a
    number before it. `after_by` says that a joint of a size stands before it.
    """
    if line[at] not in _STARTS or (at and (line[at - 1].isalnum() or line[at - 1] in "./,'\"-_")):
        return None
    if m := _AND.match(line, at):
        if 0 < int(m["top"]) < int(m["under"]):
            return Spoken(f"{number(m['whole'])}-{m['top']}/{m['under']}" + _inch(m), m.end())
        return None
    if (m := _WORDED.match(line, at)) and (found := _fraction(line, m)):
        return found
    if line[at].isdigit():
        return None
    if m := _FEET.match(line, at):
        inches = f'{number(m["inches"])}"' if m["inches"] else ""
        return Spoken(f"{number(m['feet'])}'{inches}", m.end())
    if m := _MARKED.match(line, at):
        unit = '"' if m["inch"] else " cm" if m["metric"].casefold().startswith("c") else " mm"
        return Spoken(f"{number(m['number'])}{unit}", m.end())
    if m := (_SECOND if after_by else _JOINED).match(line, at):
        return Spoken(str(number(m["number"])), m.end())
    return None


def _inch(m: re.Match[str]) -> str:
    return '"' if m["inch"] else ""


def _fraction(line: str, m: re.Match[str]) -> Spoken | None:
    """Return a fraction in words, None where its words may as well belong to a name ("half shelf")."""
    under = _DENOMINATORS[m["under"].casefold()]
    top = number(m["top"]) if m["top"] else 1
    if top >= under or (top % 2 == 0):
        return None
    if not (m["inch"] or m["whole"] or m["top"]):
        after = _NEXT_WORD.match(line, m.end())
        if not after or after[1].casefold() not in _SOLID:
            return None
    whole = f"{number(m['whole'])}-" if m["whole"] else ""
    counts = top if m["top"] and not m["whole"] else 0
    return Spoken(f"{whole}{top}/{under}{_inch(m)}", m.end(), counts)
