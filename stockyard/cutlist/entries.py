"""One entry of a free line: "2 ea sides 17-1/2 x 16 1/4, oak (grain up)" becomes a draft."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from stockyard.cutlist import materials
from stockyard.cutlist.account import Claims
from stockyard.cutlist.asides import (
    Said,
    inside_word,
    is_ditto,
    joined,
    pieces,
)
from stockyard.cutlist.batching import batch_said
from stockyard.cutlist.doubts import (
    no_lone_mark,
    no_minus,
    no_sets,
    no_sum,
    no_thickness_in_size,
    one_thickness,
)
from stockyard.cutlist.draft import Above, Draft, Heading, Shop
from stockyard.cutlist.edges import UNSURE
from stockyard.cutlist.figures import Fix, Unclear, counted
from stockyard.cutlist.matching import match_said, off_name
from stockyard.cutlist.model import Use
from stockyard.cutlist.notes import grain_said
from stockyard.cutlist.numbering import ask_numbered
from stockyard.cutlist.quantities import Count, find_count, strong_counts
from stockyard.cutlist.roughing import rough_said
from stockyard.cutlist.same import meant
from stockyard.cutlist.sizes import Size, face, find_size, has_size, last_figure
from stockyard.cutlist.stray import (
    ask_strays,
    first_of_names,
    no_count_for_thickness,
    no_count_in_size,
    no_label_run,
    no_whole_sheet,
    stray_figure,
)
from stockyard.cutlist.tokens import Place, Token

_NOTHING_ABOVE = Above()
# Words between a count and a size that name no part: "two at 30 x 12".
_NO_NAMES = ("at", "of")
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
        token.kind == "word" and token.text.casefold() in ("and", "und", "et", "plus")
    )


def read_entry(
    tokens: Sequence[Token], place: Place, heading: Heading, shop: Shop, above: Above = _NOTHING_ABOVE
) -> Draft:
    """Return what one entry says; `above` are the parts before it, for "ditto" and "same".

    Under a heading of nominal lumber a lone figure is the length.

    Raises:
        Unclear: anything with more than one reading, or a figure that is neither count, size nor thickness.
    """
    size = find_size(tokens) or (last_figure(tokens) if heading.nominal else None)
    if size is None:
        raise Unclear("no size in this entry", tokens[0].start)
    claims = Claims()
    numbered, rest, size = _list_number(tokens, size)
    claims.tokens(tokens, range(len(tokens) - len(rest)), Use.NOTE)
    tokens = rest
    no_label_run(tokens)
    if place.numbered:
        ask_numbered(tokens, size)
    count = find_count(tokens, size)
    ask_strays(tokens, size, count)
    no_minus(tokens, size)
    no_sum(tokens, size, count)
    no_sets(tokens, size, count)
    no_lone_mark(tokens, size, count)
    used = set(range(size.begin, size.end)) | count.used
    if size.begin and tokens[size.begin - 1].text == "@":
        used.add(size.begin - 1)
    claims.tokens(tokens, count.used, Use.COUNT)
    claims.tokens(tokens, range(size.begin, size.end), Use.SIZE)
    said = Said(shop, claims)
    used |= said.brackets(tokens, used)
    free = [i for i in range(len(tokens)) if i not in used]
    named = any(tokens[i].kind == "word" for i in free if i < size.begin)
    free = said.words(tokens, free, size.begin, size.end, named=named)
    name, trailing = _name_and_rest(tokens, free, size, count, claims)
    for run in trailing:
        said.rest(tokens, run)
    name, match = off_name("" if name.casefold() in _NO_NAMES else name)
    name = _ditto(name, above, tokens)
    substance = meant(said, heading, above)
    known = heading.thickness or substance.thickness
    part = face(size, shop, in_context=heading.nominal, thick_said=known is not None)
    no_count_in_size(size, part.thickness, known, count)
    no_count_for_thickness(tokens, size, count, thick=part.thickness or known)
    no_whole_sheet(name, tokens)
    no_thickness_in_size(size, part, tokens, substance, shop)
    one_thickness(part.thickness, substance.thickness)
    material = substance.words or _in_name(name, heading, shop, tokens)
    return Draft(
        name=name,
        count=count.value,
        first=part.first,
        second=part.second,
        order=part.order,
        marks=part.marks,
        thickness=part.thickness,
        named=substance.thickness or (None if part.nominal else heading.thickness),
        nominal=part.nominal,
        rip_from=said.rip,
        material=material or heading.material,
        grain=said.grain or grain_said(name) or heading.grain,
        bands=_bands(said, heading),
        band=said.band,
        finished=said.finished,
        match=said.match or match or heading.match,
        batch=said.batch or heading.batch,
        rough=said.rough or heading.rough,
        note="; ".join([*numbered, *said.notes]),
        unread=(*numbered, *said.unread),
        own=substance,
        lead=said.lead,
        carried=said.same is not None,
        spans=claims.spans(),
        heading=heading,
        line=place.number,
        column=place.column(tokens[0].start),
        text=place.raw,
    )


def _bands(said: Said, heading: Heading) -> str:
    """Return the words about banded edges; those that name places ("front") stay as a note too."""
    phrase = ", ".join(said.bands)
    if not phrase:
        return heading.bands
    if any(w in ("front", "back", "top", "bottom", "left", "right") for w in phrase.casefold().split()):
        words = phrase.removeprefix(UNSURE)
        if words not in said.notes:
            said.notes.append(words)
    return phrase


def _list_number(tokens: Sequence[Token], size: Size) -> tuple[list[str], Sequence[Token], Size]:
    """Take a list number ("1." or "1)") off the front of an entry that gives its count elsewhere.

    Raises:
        Unclear: there is no other count, so that it may be one.
    """
    if len(tokens) < 3 or not tokens[0].text.isdigit() or tokens[1].text not in (".", ")") or size.begin < 2:
        return [], tokens, size
    mark = f"{tokens[0].text}{tokens[1].text}"
    rest = replace(size, begin=size.begin - 2, end=size.end - 2, count_at=max(-1, size.count_at - 2))
    if not strong_counts(tokens[2:], rest):
        pieces = Fix(counted(tokens[0].text), tokens[0].start, tokens[1].end, f"{tokens[0].text} pcs")
        one = Fix("a list number, and one piece", tokens[0].start, tokens[1].end, "1 pc")
        raise Unclear(f"'{mark}': a list number or how many?", tokens[0].start, (pieces, one))
    return [mark], tokens[2:], rest


def _name_and_rest(
    tokens: Sequence[Token], free: Sequence[int], size: Size, count: Count, claims: Claims
) -> tuple[str, list[list[int]]]:
    """Return the part's name and the runs of tokens that say something else.

    Raises:
        Unclear: a figure nobody has claimed that is not part of a name ("Shelf 3").
    """
    for i in free:
        token = tokens[i]
        if token.kind == "other" and not inside_word(tokens, i):
            if token.text.isalnum() or token.text in "@=<>~^|\\":
                raise Unclear(f"'{token.text}' is not understood here", token.start)
        elif token.kind == "fig" and not _names(tokens, i, free, size):
            raise stray_figure(tokens, i, size, count)
        elif token.kind in ("x", "band"):
            raise Unclear(f"'{token.text}' is not understood here", token.start)
    runs = pieces(tokens, free)
    before = [r for r in runs if r[0] < size.begin]
    after = [r for r in runs if r[0] >= size.begin]
    own_name = before or [r for r in after[:1] if not _is_remark(joined(tokens, r))]
    for run in own_name:
        claims.tokens(tokens, run, Use.NAME)
    rest = after if before else after[len(own_name) :]
    if own_name and not before and own_name[0][0] == size.end and tokens[size.end].text.casefold() == "in":
        word = tokens[size.end]
        inch, joint = Fix("inches", word.start, word.end, '"'), Fix("only a word", word.start, word.end, ",")
        raise Unclear(f"'{word.text}' behind {size.figures[-1].text}: inches?", word.start, (inch, joint))
    return ", ".join(joined(tokens, r) for r in own_name), rest


def _is_remark(text: str) -> bool:
    return (
        bool(grain_said(text)) or match_said(text) is not None or bool(batch_said(text) or rough_said(text))
    )


def _names(tokens: Sequence[Token], i: int, free: Sequence[int], size: Size) -> bool:
    """Whether a figure is part of a name: a whole number beside a word, before the size."""
    if not tokens[i].text.isdigit() or i >= size.begin:
        return False
    beside = [j for j in (i - 1, i + 1) if j in free and j < size.begin and tokens[j].kind == "word"]
    return bool(beside)


def _ditto(name: str, above: Above, tokens: Sequence[Token]) -> str:
    if not is_ditto(name):
        first_of_names(name, tokens)
        return name
    last = above.latest()
    if last is None or not last.name:
        why = "no part before it" if last is None else "the part before it has no name"
        raise Unclear(f"'{name}' stands for nothing: {why}", tokens[0].start)
    return last.name


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
