"""One entry of a free line: "2 ea sides 17-1/2 x 16 1/4, oak (grain up)" becomes a draft."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from stockyard.cutlist import materials
from stockyard.cutlist.draft import Draft, Heading, Shop
from stockyard.cutlist.figures import Figure, Fix, Unclear
from stockyard.cutlist.marks import MARKS, SAYS
from stockyard.cutlist.notes import finished_said, grain_said, rip_from
from stockyard.cutlist.quantities import Count, find_count, paren_count, strong_counts
from stockyard.cutlist.sizes import Size, face, find_size, has_size, last_figure
from stockyard.cutlist.tokens import Place, Token
from stockyard.cutlist.words import DITTO_WORDS, SETS

_BANDED = re.compile(r"(?:eb|edge|edges|band|banded|banding|edged)$", re.IGNORECASE)
_DIVIDERS = frozenset((",", ";", "&", "+"))


def entries(tokens: Sequence[Token]) -> Iterator[Sequence[Token]]:
    """Split a line at commas, semicolons and "and" into entries that each hold a size."""
    if not any(_divides(token) for token in tokens):
        yield tokens
        return
    begin, piece_begin, sized = 0, 0, False
    for i in range(len(tokens) + 1):
        if i < len(tokens) and not _divides(tokens[i]):
            continue
        if has_size(tokens[piece_begin:i]):
            if sized:
                yield tokens[begin : piece_begin - 1]
                begin = piece_begin
            sized = True
        piece_begin = i + 1
    yield tokens[begin:]


def _divides(token: Token) -> bool:
    return (token.kind == "other" and token.text in _DIVIDERS) or (
        token.kind == "word" and token.text.casefold() in ("and", "und", "et")
    )


def read_entry(
    tokens: Sequence[Token], place: Place, heading: Heading, shop: Shop, previous: str = ""
) -> Draft:
    """Return what one entry says; `previous` is the name a "ditto" stands for.

    Under a heading of nominal lumber a lone figure is the length.

    Raises:
        Unclear: anything with more than one reading, or a figure that is neither count, size nor thickness.
    """
    size = find_size(tokens) or (last_figure(tokens) if heading.nominal else None)
    if size is None:
        raise Unclear("no size in this entry", tokens[0].start)
    tokens, size, numbered = _list_number(tokens, size)
    count = find_count(tokens, size)
    _no_minus(tokens, size)
    _no_sets(tokens, size, count)
    _no_lone_mark(tokens, size, count)
    used = set(range(size.begin, size.end)) | count.used
    if size.begin and tokens[size.begin - 1].text == "@":
        used.add(size.begin - 1)
    notes, taken = _asides(tokens, used)
    used |= taken
    bands, taken = _bands(tokens, size, used)
    used |= taken
    free = [i for i in range(len(tokens)) if i not in used]
    named = any(tokens[i].kind == "word" for i in free if i < size.begin)
    substance = materials.in_entry(tokens, free, shop, size.begin, named)
    free = [i for i in free if i not in substance.used]
    name, trailing = _name_and_rest(tokens, free, size)
    name = _ditto(name, previous, tokens)
    note = "; ".join([*numbered, *trailing, *notes])
    known = heading.thickness or substance.thickness
    part = face(size, shop, in_context=heading.nominal, thick_said=known is not None)
    material = substance.words or _in_name(name, heading, shop, tokens)
    named_thickness = substance.thickness or (None if part.nominal else heading.thickness)
    _one_thickness(part.thickness, substance.thickness)
    return Draft(
        name=name,
        count=count.value,
        first=part.first,
        second=part.second,
        order=part.order,
        marks=part.marks,
        thickness=part.thickness,
        named=named_thickness,
        nominal=part.nominal,
        rip_from=rip_from(note),
        material=material or heading.material,
        grain=grain_said(note) or grain_said(name),
        bands=bands,
        finished=finished_said(note) if note else None,
        note=note,
        heading=heading,
        line=place.number,
        column=place.column(tokens[0].start),
        text=place.raw,
    )


def _list_number(tokens: Sequence[Token], size: Size) -> tuple[Sequence[Token], Size, list[str]]:
    """Take a list number ("1." or "1)") off the front of an entry that gives its count elsewhere.

    Raises:
        Unclear: there is no other count, so that it may be one.
    """
    if len(tokens) < 3 or not tokens[0].text.isdigit() or tokens[1].text not in (".", ")") or size.begin < 2:
        return tokens, size, []
    mark = f"{tokens[0].text}{tokens[1].text}"
    rest = replace(size, begin=size.begin - 2, end=size.end - 2, count_at=max(-1, size.count_at - 2))
    if not strong_counts(tokens[2:], rest):
        pieces = Fix(f"{tokens[0].text} pieces", tokens[0].start, tokens[1].end, f"{tokens[0].text} pcs")
        one = Fix("a list number, and one piece", tokens[0].start, tokens[1].end, "1 pc")
        raise Unclear(f"'{mark}': a list number or how many?", tokens[0].start, (pieces, one))
    return tokens[2:], rest, [mark]


def _no_minus(tokens: Sequence[Token], size: Size) -> None:
    """Refuse a size below nothing: a dash that stands tight before it and apart from what comes before."""
    if size.begin == 0 or tokens[size.begin - 1].text != "-":
        return
    dash = tokens[size.begin - 1]
    apart = size.begin == 1 or tokens[size.begin - 2].end < dash.start
    if apart and dash.end == tokens[size.begin].start:
        raise Unclear("a size below nothing, or a dash too near?", dash.start)


def _no_lone_mark(tokens: Sequence[Token], size: Size, count: Count) -> None:
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


def _no_sets(tokens: Sequence[Token], size: Size, count: Count) -> None:
    """Ask what a count of pairs or sets comes to."""
    for i, token in enumerate(tokens):
        if token.kind != "word" or token.text.casefold() not in SETS or i in count.used:
            continue
        fixes = []
        figures = [j for j in count.used if tokens[j].text.isdigit()]
        if count.value and figures and not size.begin <= i < size.end:
            for n in (count.value, 2 * count.value):
                fixes.append(_retold(tokens, {figures[0]: str(n), i: ""}, f"{n} pieces in all"))
        raise Unclear(f"'{token.text}': how many pieces in all?", token.start, tuple(fixes))


def _retold(tokens: Sequence[Token], instead: dict[int, str], says: str) -> Fix:
    """Return the fix that puts other words in place of some tokens."""
    text = ""
    for i, token in enumerate(tokens):
        gap = token.start - tokens[i - 1].end if i else 0
        text += " " * gap + instead.get(i, token.text)
    return Fix(says, tokens[0].start, tokens[-1].end, text)


def _asides(tokens: Sequence[Token], used: set[int]) -> tuple[list[str], set[int]]:
    """Return the texts in brackets and behind a # as notes, with their tokens."""
    notes, taken = [], set()
    for i, token in enumerate(tokens):
        if i in used or token.kind not in ("paren", "comment"):
            continue
        text = token.text[1:-1] if token.kind == "paren" else token.text.lstrip("#/")
        if token.kind == "paren" and paren_count(token) is not None:
            raise Unclear("two counts in one entry", token.start)
        notes.append(text.strip())
        taken.add(i)
    return [n for n in notes if n], taken


def _bands(tokens: Sequence[Token], size: Size, used: set[int]) -> tuple[str, set[int]]:
    """Return a banding code after the size ("2L1S", "eb 4"), with its tokens."""
    for i in range(size.end, len(tokens)):
        if i in used:
            continue
        labelled = i > size.end and tokens[i - 1].kind == "word" and _BANDED.match(tokens[i - 1].text)
        if tokens[i].kind == "band" or (labelled and tokens[i].text in ("1", "2", "3", "4")):
            taken = {i, i - 1} if labelled else {i}
            after = tokens[i + 1] if i + 1 < len(tokens) else None
            if after and after.kind == "word" and _BANDED.match(after.text):
                taken.add(i + 1)
            return tokens[i].text, taken
    return "", set()


def _name_and_rest(tokens: Sequence[Token], free: Sequence[int], size: Size) -> tuple[str, list[str]]:
    """Return the part's name and what else is said.

    Raises:
        Unclear: a figure nobody has claimed that is not part of a name ("Shelf 3").
    """
    runs: list[list[int]] = []
    for i in free:
        token = tokens[i]
        if token.kind == "other" and not (token.text == "-" and _inside_word(tokens, i)):
            if token.text.isalnum() or token.text in "@=<>~^|\\":
                raise Unclear(f"'{token.text}' is not understood here", token.start)
            runs.append([])
        elif token.kind == "fig" and not _names(tokens, i, free, size):
            raise Unclear(f"'{token.text}' is neither count, size nor thickness", token.start)
        elif token.kind in ("x", "band"):
            raise Unclear(f"'{token.text}' is not understood here", token.start)
        elif runs and runs[-1] and runs[-1][-1] == i - 1:
            runs[-1].append(i)
        else:
            runs.append([i])
    before = [r for r in runs if r and r[0] < size.begin]
    after = [r for r in runs if r and r[0] >= size.begin]
    own_name = before or [r for r in after[:1] if not grain_said(_joined(tokens, r))]
    texts = [_joined(tokens, r) for r in own_name]
    rest = after if before else after[len(own_name) :]
    return ", ".join(texts), [_joined(tokens, r) for r in rest]


def _inside_word(tokens: Sequence[Token], i: int) -> bool:
    return (
        0 < i < len(tokens) - 1
        and tokens[i - 1].end == tokens[i].start
        and tokens[i].end == tokens[i + 1].start
    )


def _names(tokens: Sequence[Token], i: int, free: Sequence[int], size: Size) -> bool:
    """Whether a figure is part of a name: a whole number beside a word, before the size."""
    if not tokens[i].text.isdigit() or i >= size.begin:
        return False
    beside = [j for j in (i - 1, i + 1) if j in free and j < size.begin and tokens[j].kind == "word"]
    return bool(beside)


def _joined(tokens: Sequence[Token], run: Sequence[int]) -> str:
    out = ""
    for k, i in enumerate(run):
        gap = k and tokens[i].start > tokens[run[k - 1]].end
        out += (" " if gap else "") + tokens[i].text
    return out


def _ditto(name: str, previous: str, tokens: Sequence[Token]) -> str:
    if name.casefold() not in DITTO_WORDS:
        return name
    if not previous:
        raise Unclear(f"'{name}' stands for nothing: no part before it", tokens[0].start)
    return previous


def _in_name(name: str, heading: Heading, shop: Shop, tokens: Sequence[Token]) -> str:
    """Return the material a name speaks of when no heading says one.

    Raises:
        Unclear: the heading says another material.
    """
    words = materials.words_in(name, shop)
    if not words or not heading.material:
        return words
    if set(words.casefold().split()) <= set(heading.material.casefold().split()):
        return ""
    end = tokens[-1].end
    while tokens[-1].kind == "comment" and end > tokens[-1].start:
        end = tokens[-1].start
    own, above = (
        Fix(f"of {words}", end, end, f", from {words}"),
        Fix(f"of {heading.material}, as the heading says", end, end, f", from {heading.material}"),
    )
    raise Unclear(
        f"'{name}' under the heading '{heading.material}': of which material?", tokens[0].start, (above, own)
    )


def _one_thickness(figure: Figure | None, named: Figure | None) -> None:
    """Refuse an entry whose size and material name different thicknesses, unless the name is a quarter."""
    if not figure or not named or named.quarter:
        return
    if figure.value != named.value or figure.unit != named.unit:
        raise Unclear(f"'{figure.text}' and '{named.text}': which thickness?", named.start)
