"""Lines that hold no part: titles that name a material, totals, remarks."""

from __future__ import annotations

import re
from collections.abc import Sequence

from stockyard.cutlist.draft import Heading, Shop
from stockyard.cutlist.figures import Figure, Fix, Unclear, figure
from stockyard.cutlist.materials import named_words
from stockyard.cutlist.notes import finished_said
from stockyard.cutlist.quantities import strong_counts
from stockyard.cutlist.tokens import Token, has_figure
from stockyard.cutlist.words import ABOUT_WORDS, COUNT_WORDS, NUMBER_WORDS, TOTAL_WORDS

TITLE_MARK = "=="
_RULE = re.compile(r"[\s|:+=_*~.-]+$")
_TOTAL = re.compile(r"\s*(?:grand\s+|sub)?([^\W\d_]+)\s*[:=]?\s*(\d{1,9})\b(.*)$")


def is_rule(line: str) -> bool:
    """Whether a line only draws a rule (-----, |---|---|)."""
    return _RULE.match(line) is not None


def total_of(line: str) -> int | None:
    """Return the count a total line gives ("TOTAL: 12 pcs"), None when it is no total."""
    m = _TOTAL.match(line)
    if not m or m[1].casefold() not in TOTAL_WORDS:
        return None
    tail = re.sub(r"[\W_]+", " ", m[3]).split()
    return int(m[2]) if all(w.casefold() in COUNT_WORDS or w.casefold() == "parts" for w in tail) else None


def is_about(tokens: Sequence[Token]) -> bool:
    """Whether a line is about the job and not a part of it: "Date: 4 March", "Job 12"."""
    return tokens[0].kind == "word" and tokens[0].text.casefold() in ABOUT_WORDS


def lumber_heading(line: str, tokens: Sequence[Token], shop: Shop, number: int) -> Heading | None:
    """Return the heading in "2x4:", "2x4 pine" or "Bench, fir 2x4", under which lines give lengths only."""
    at = [i for i, t in enumerate(tokens) if t.kind == "x"]
    figures = [t for t in tokens if t.kind == "fig"]
    if len(at) != 1 or len(figures) != 2 or any(t.kind in ("paren", "band", "comment") for t in tokens):
        return None
    a, b = tokens[at[0] - 1 : at[0]], tokens[at[0] + 1]
    nominal = f"{a[0].text}x{b.text}" if a else ""
    if shop.lumber.actual(nominal) is None or a[0].end != tokens[at[0]].start or tokens[at[0]].end != b.start:
        return None
    words = [t.text for t in tokens if t.kind == "word"]
    if any(w.casefold() in COUNT_WORDS or w.casefold() in NUMBER_WORDS for w in words):
        return None
    wood = " ".join(words[k] for k in named_words(words, shop))
    if not wood and tokens[-1].text != ":":
        return None
    return Heading(title=line.strip(), nominal=nominal, material=wood, line=number)


def read_heading(line: str, tokens: Sequence[Token], shop: Shop, number: int) -> Heading:
    """Return what a line without a size says of the lines below: "Mudroom bench, 3/4 birch ply".

    Raises:
        Unclear: it holds figures that are no thickness, so it may be a part gone wrong.
    """
    title = Fix("only a title", 0, 0, f"{TITLE_MARK} ")
    if strong_counts(tokens, None) or (tokens[0].text.casefold() in NUMBER_WORDS):
        raise Unclear("a count but no size", tokens[0].start, (title,))
    material, thickness = "", None
    for piece in _pieces(tokens):
        words, found = _substance(piece, shop)
        if found and thickness:
            raise Unclear("two thicknesses in one heading", found.start, (title,))
        thickness = thickness or found
        material = material or words
    for token in tokens:
        claimed = thickness is not None and token.start == thickness.start
        if not claimed and has_figure(token.text):
            raise Unclear("no size: a title, or a part with something missing?", token.start, (title,))
    return Heading(
        title=line.strip(), material=material, thickness=thickness, finished=finished_said(line), line=number
    )


def _pieces(tokens: Sequence[Token]) -> list[list[Token]]:
    """Split a heading at its commas, colons, dashes and brackets."""
    pieces: list[list[Token]] = [[]]
    for token in tokens:
        if token.kind in ("other", "paren", "comment"):
            pieces.append([])
        else:
            pieces[-1].append(token)
    return [p for p in pieces if p]


def _substance(piece: Sequence[Token], shop: Shop) -> tuple[str, Figure | None]:
    """Return the material words and the thickness of one piece of a heading."""
    figures = [t for t in piece if t.kind == "fig"]
    known = named_words([t.text for t in piece], shop)
    if len(figures) != 1:
        names = not figures and bool(known) and known[-1] == len(piece) - 1
        return (" ".join(t.text for t in piece) if names else ""), None
    thickness = figure(figures[0].text, figures[0].start)
    if not known and (thickness.whole or len(piece) > 1):
        return "", None
    at = list(piece).index(figures[0])
    words = [t.text for k, t in enumerate(piece) if t.kind == "word" and (k > at or k in known)]
    return " ".join(w for w in words if w.casefold() not in ("thick", "thk")), thickness
