"""A line cut into figures, words and signs, in one pass and in time that grows with its length only."""

from __future__ import annotations

import re
import unicodedata
from bisect import bisect_left
from collections.abc import Iterator
from typing import NamedTuple

from stockyard.cutlist.figures import FIGURE, Fix, Unclear
from stockyard.cutlist.marks import marked_size
from stockyard.cutlist.notes import NO_SHEET
from stockyard.cutlist.spoken import NUMBER, spoken
from stockyard.measure import plain

_SCAN = re.compile(
    rf"""(?P<space>\s+)
    |(?P<comment>(?:\#(?!\d)|//).*)
    |(?P<paren>\([^()]*\)|\[[^\[\]]*\])
    |(?P<band>(?<![x×*@])(?<![x×*@][ ])(?-i:[1-4][LSW](?:[1-4][LSW])?)(?!\w|\s*[x×*@]))
    |(?P<misread>(?-i:(?:\d{{1,6}}[lIOo][\dlIOo]{{0,6}}|[lIO][\dlIO]{{0,5}}\d[\dlIO]{{0,5}}|[lI](?=/\d))
        (?:[/.][\dlIO]{{1,4}})?|\d{{1,3}}/(?:[lIO]\d{{0,3}}|\d{{1,3}}[lIO]))(?![A-Za-z]))
    |(?P<fig>{FIGURE})
    |(?P<x>[x×✕✖х*](?=\s*(?:[-.,]?\d|(?-i:[lIO][\dlIO/])))|by\b(?=\s*(?:[.,]?\d|{NUMBER}\b))|[x×](?=\s+{NUMBER}(?:\s|$)))
    |(?P<word>[^\W\d_](?:\w|[&+.'/-](?=\w))*)
    |(?P<other>.)""",
    re.VERBOSE | re.IGNORECASE,
)
_MISREAD = str.maketrans("lIOo", "1100")
# marks that show nothing: soft hyphen, zero-width characters, direction marks
_HIDDEN = dict.fromkeys((173, 8203, 8204, 8205, 8206, 8207, 8288, 65279))
_TIED = re.compile(r"(?<=\d)(?=[½¼¾⅓⅔⅕⅖⅗⅘⅙⅚⅐⅑⅒⅛⅜⅝⅞])")
_LETTERED = re.compile(r"(?<=[\d\"'”″’′m] )\(([LWTHDlwthd])\)(?=\s*[x×,]|\s*$)")
_OVER = r"\d+(?:[ -]\d+/\d+|/\d+|\.\d+)?(?:\s?(?:mm\b|cm\b|in\b|[\"″]))?"
_TWO = rf"{_OVER}\s?[x×]\s?{_OVER}"
# What is said of both sizes of a part that is sawn larger is no size of another part.
_OVERSIZE = re.compile(
    rf"(?<=[\w\"″)] |[,;:-] )(?:(?:leave |cut |left )?over[ -]?sized? (?:by )?{_TWO}"
    rf"|(?:leave|cut) {_TWO} (?:over|longer and wider|extra)\b)"
    r"(?: for (?:glue[ -]?up|gluing(?: up)?|milling))?",
    re.IGNORECASE,
)
# Nor is the lumber that a part is ripped from, unless figures follow that may belong to it.
_RIPPED = re.compile(
    r"\([^()]*\)|\[[^\[\]]*\]"
    r"|(?P<rip>(?:^|(?<=[\w\"″)] |[,;:-] ))(?:to be )?(?:rip|ripped) from (?:an? )?"
    r"\d{1,2}(?:/4)?\s?x\s?\d{1,2}\b"
    rf"(?![./]\d|\s*[x×\"'\u2033\u2032\d]){NO_SHEET})",
    re.IGNORECASE,
)
LONGEST_LINE = 500
MOST_TOKENS = 120


class Token(NamedTuple):
    """A bit of a line; kind is fig, word, x, paren, band, comment or other.

    A figure said in words has it in figures as its `text`; `counts` as in `spoken.Spoken`.
    """

    kind: str
    text: str
    start: int
    end: int
    counts: int = 0


def plain_line(raw: str) -> str:
    """Return the line with plain quotes, dashes, fractions and digits; its length may differ.

    A fraction of one character right behind its whole (15¾) is tied to it, unlike 15 3/4. What is sawn larger
    by two figures stands in brackets, and what lumber a part is ripped from.
    """
    raw = _OVERSIZE.sub(r"(\g<0>)", raw)
    raw = _RIPPED.sub(lambda m: f"({m['rip']})" if m["rip"] else m[0], raw)
    raw = _LETTERED.sub(r" \1 ", raw)
    if raw.isascii():
        return raw
    out = plain(_TIED.sub("-", raw.translate(_HIDDEN)))
    if not out.isascii():
        out = "".join(str(unicodedata.decimal(c)) if ord(c) > 127 and c.isdecimal() else c for c in out)
    return out


def column(raw: str, line: str, at: int) -> int:
    """Return the column in `raw`, from 1, of position `at` of its plain form."""
    if len(raw) == len(line):
        return at + 1
    return max(1, bisect_left(range(len(raw)), at + 1, key=lambda i: len(plain_line(raw[: i + 1]))) + 1)


class Place(NamedTuple):
    """A line of the text: its number from 1, as written, and in its plain form.

    `numbered` tells that its name has a number which those beside it go on with.
    """

    number: int
    raw: str
    line: str
    numbered: bool = False

    def column(self, at: int) -> int:
        """Return the column in the text, from 1, of position `at` of the plain line."""
        return column(self.raw, self.line, at)


def scan(line: str, offset: int = 0) -> list[Token]:
    """Cut a plain line into tokens.

    Raises:
        Unclear: characters that look misread (l0, 8O, l/4), with the whole line put right as a reading.
    """
    out: list[Token] = []
    misread = -1
    for kind, text, start, end, counts in _bits(line):
        if kind == "misread":
            misread = start if misread < 0 else misread
        if len(out) >= MOST_TOKENS:
            raise Unclear("too much on one line: write one part a line", start + offset)
        out.append(Token(kind, text, start + offset, end + offset, counts))
    if misread >= 0:
        fixed = _SCAN.sub(
            lambda m: m.group().translate(_MISREAD) if m.lastgroup == "misread" else m.group(), line
        )
        fix = Fix(fixed.strip(), offset, offset + len(line), fixed)
        raise Unclear("letters among the figures (l, I or O for 1 or 0?)", misread + offset, (fix,))
    return out


def _bits(line: str) -> Iterator[tuple[str, str, int, int, int]]:
    at, kind = 0, ""
    while at < len(line):
        if marked := marked_size(line, at):
            yield from ((*bit, 0) for bit in marked)
            at, kind = max(end for *_, end in marked), "fig"
        elif said := spoken(line, at, after_by=kind == "x"):
            yield "fig", said.text, at, said.end, said.counts
            at, kind = said.end, "fig"
        elif m := _SCAN.match(line, at):
            at = m.end()
            if m.lastgroup != "space":
                kind = str(m.lastgroup)
                yield kind, m.group(), m.start(), at, 0
        else:
            at += 1


def has_figure(text: str) -> bool:
    """Whether any character stands for a number."""
    return any(c.isnumeric() for c in text)
