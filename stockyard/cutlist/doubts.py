"""What one entry of a line might mean otherwise: each is asked about, none is guessed."""

from __future__ import annotations

import re
from collections.abc import Sequence

from stockyard.cutlist import materials
from stockyard.cutlist.draft import Shop, Substance
from stockyard.cutlist.figures import Figure, Fix, Unclear, figure
from stockyard.cutlist.marks import MARKS, SAYS
from stockyard.cutlist.matching import match_said
from stockyard.cutlist.quantities import Count
from stockyard.cutlist.sizes import Face, Size
from stockyard.cutlist.tokens import Token
from stockyard.cutlist.words import DOZENS, SETS

_SPLIT_FRACTION = re.compile(r"(\d{1,4}|\d{1,3} ?'|\d{1,3} ?ft) (\d+/\d+)")


def no_thickness_in_size(
    size: Size, part: Face, tokens: Sequence[Token], substance: Substance, shop: Shop
) -> None:
    """Ask when the fraction of the last figure may be the thickness: "17 by 15 3/4 ply"."""
    last, after = size.figures[-1], size.end
    m = _SPLIT_FRACTION.match(last.text)
    if not m or part.thickness or substance.thickness or after >= len(tokens) or size.roles[-1]:
        return
    if tokens[after].kind != "word":
        return
    run = materials.named_words([t.text for t in tokens[after : after + 4] if t.kind == "word"], shop)
    if 0 not in run:
        return
    joined_up = f"{m[1]}-{m[2]}" if m[1].isdigit() else f'{m[1]} 0-{m[2]}"'
    fixes = (
        Fix(joined_up, last.start, last.end, joined_up),
        Fix(f"{m[1]}, and {m[2]} thick", last.start, last.end, f"{m[1]}, {m[2]}"),
    )
    raise Unclear(f"'{last.text} {tokens[after].text}': is {m[2]} the thickness?", last.start, fixes)


def no_minus(tokens: Sequence[Token], size: Size) -> None:
    """Refuse a size below nothing: a dash that stands tight before it and apart from what comes before."""
    if size.begin == 0 or tokens[size.begin - 1].text != "-":
        return
    dash = tokens[size.begin - 1]
    apart = size.begin == 1 or tokens[size.begin - 2].end < dash.start
    if apart and dash.end == tokens[size.begin].start:
        raise Unclear("a size below nothing, or a dash too near?", dash.start)


def no_lone_mark(tokens: Sequence[Token], size: Size, count: Count) -> None:
    """Ask whether a letter right before a size ("top W 860 x 300") says what its first figure is."""
    i = size.begin - 1
    if i < 0 or i in count.used or size.roles[0] or tokens[i].text.casefold() not in MARKS:
        return
    token, figure = tokens[i], size.figures[0]
    if len(token.text) > 1:
        return
    mark = SAYS[MARKS[token.text.casefold()]]
    fixes = (
        Fix(f"{figure.text} is the {mark}", token.start, figure.end, f"{figure.text} {token.text.upper()}"),
        Fix(f"'{token.text}' belongs to the name", token.end, token.end, ":"),
    )
    unclear = f"'{token.text}' before {figure.text}: its {mark}, or part of the name?"
    raise Unclear(unclear, token.start, fixes)


def no_sum(tokens: Sequence[Token], size: Size, count: Count) -> None:
    """Ask about a plus before or behind a size: "609 + 18 x 186", "609 x 186 + 2"."""
    after = tokens[size.end : size.end + 2]
    if len(after) == 2 and after[0].text == "+" and after[1].kind == "fig":
        a, b = size.figures[-1], figure(after[1].text, after[1].start, end=after[1].end)
        raise _sum(a, b)
    i = size.begin - 2
    if i < 0 or tokens[i + 1].text != "+" or tokens[i].kind != "fig" or i in count.used:
        return
    raise _sum(figure(tokens[i].text, tokens[i].start, end=tokens[i].end), size.figures[0])


def _sum(a: Figure, b: Figure) -> Unclear:
    fixes = []
    if a.whole and b.whole:
        both = str(int(a.text) + int(b.text))
        fixes.append(Fix(f"{both}, the sum", a.start, b.end, both))
    return Unclear(f"'{a.text} + {b.text}': a sum, or two things?", a.start, tuple(fixes))


def no_sets(tokens: Sequence[Token], size: Size, count: Count) -> None:
    """Ask what a count of pairs or sets comes to."""
    for i, token in enumerate(tokens):
        if token.kind != "word" or token.text.casefold() not in SETS | DOZENS or i in count.used:
            continue
        if i and match_said(tokens[i - 1].text):
            continue
        fixes = []
        figures = [j for j in count.used if tokens[j].text.isdigit()]
        each = 12 if token.text.casefold() in DOZENS else 2
        if count.value and figures and not size.begin <= i < size.end:
            for n in (each * count.value,) if each == 12 else (count.value, each * count.value):
                fixes.append(_retold(tokens, {figures[0]: str(n), i: ""}, f"{n} pieces in all"))
        raise Unclear(f"'{token.text}': how many pieces in all?", token.start, tuple(fixes))


def _retold(tokens: Sequence[Token], instead: dict[int, str], says: str) -> Fix:
    """Return the fix that puts other words in place of some tokens."""
    text = ""
    for i, token in enumerate(tokens):
        gap = token.start - tokens[i - 1].end if i else 0
        text += " " * gap + instead.get(i, token.text)
    return Fix(says, tokens[0].start, tokens[-1].end, text)


def one_thickness(figure: Figure | None, named: Figure | None) -> None:
    """Refuse an entry whose size and material name different thicknesses, unless the name is a quarter."""
    if not figure or not named or named.quarter:
        return
    if figure.value != named.value or figure.unit != named.unit:
        raise Unclear(f"'{figure.text}' and '{named.text}': which thickness?", named.start)
