"""Figures and signs of an entry that may mean what nobody said: each is asked about, none is dropped."""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence

from stockyard.cutlist.asides import is_ditto
from stockyard.cutlist.figures import Figure, Fix, Unclear, counted, figure
from stockyard.cutlist.quantities import LIKELY, Count
from stockyard.cutlist.sizes import Size
from stockyard.cutlist.tokens import Token
from stockyard.cutlist.words import COUNT_LABELS, KIND_WORDS, MATERIAL_WORDS, NEARLY, SHEET_WORDS

_COUNT_AND_FRACTION = re.compile(r"(\d{1,3}) (\d{1,3}/\d{1,3}.*)$")
_FRACTION = re.compile(r"\d{1,3}/\d{1,3}(?:\"|in)?$")
# No sheet is as thin as this in millimetres, and lower figures before a material are counts.
_THIN = 3
_QUOTES = ('"', "'")


def ask_strays(tokens: Sequence[Token], size: Size, count: Count) -> None:
    """Ask about what stands before a size and may be a second count, a difference, or the line above.

    Raises:
        Unclear: there is such a thing.
    """
    _no_range(tokens, size, count)
    _no_guess(tokens, size)
    _no_second_count(tokens, size, count)
    _no_difference(tokens, size, count)
    _no_marks(tokens, size)


def no_label_run(tokens: Sequence[Token]) -> None:
    """Ask about "qty 2 3/4 ply": two and three quarters, or two of them.

    Raises:
        Unclear: a word for a count stands before such a figure.
    """
    for before, token in itertools.pairwise(tokens):
        m = _COUNT_AND_FRACTION.match(token.text) if token.kind == "fig" else None
        if m and before.text.casefold() in COUNT_LABELS:
            fix = Fix(f"{m[1]} pieces, {m[2]}", before.start, token.end, f"{m[1]} pcs, {m[2]}")
            raise Unclear(f"'{before.text} {token.text}': {m[1]} of them?", before.start, (fix,))


def stray_figure(tokens: Sequence[Token], i: int, size: Size, count: Count) -> Unclear:
    """Return the doubt about a figure that nothing explains: behind a size it may be the thickness."""
    token, fixes = tokens[i], []
    last = size.figures[-1]
    thin = len(size.figures) == 2 and "T" not in size.roles
    if i >= size.end and thin and (count.value is not None or not token.text.isdigit()):
        if i == size.end and last.whole and _FRACTION.match(token.text):
            more = f"{last.text}-{token.text}"
            fixes.append(Fix(more, last.start, token.end, more))
        fixes.append(Fix(f"{token.text} thick", token.start, token.end, f", {token.text} thick"))
    unclear = f"'{token.text}' is neither count, size nor thickness"
    if i >= size.end and count.value is None and token.text.isdigit() and int(token.text) <= LIKELY:
        fixes.append(Fix(counted(token.text), token.start, token.end, f"{token.text} pcs"))
        unclear = f"is {token.text} the count?"
    elif fixes:
        unclear = f"'{token.text}' behind the size: the thickness?"
    return Unclear(unclear, token.start, tuple(fixes))


def no_count_in_size(size: Size, thickness: Figure | None, known: Figure | None, count: Count) -> None:
    """Ask about "720 x 560 x 2" under "18 mm MFC": how many, or how thick?

    Raises:
        Unclear: nothing else says how many, and the last figure is not the thickness said before.
    """
    if count.value is not None or thickness is None or known is None or len(size.figures) != 3:
        return
    last, joint = size.figures[-1], size.joints[-1]
    if not last.whole or last.value > LIKELY or re.split(r"[^\d]", known.text)[0] == last.text:
        return
    pieces = Fix(counted(last.text), joint.start, last.end, f" - {last.text} pcs")
    thick = Fix(f"one piece, {last.text} thick", last.end, last.end, " - 1 pc")
    raise Unclear(f"is {last.text} the count or the thickness?", last.start, (pieces, thick))


def no_count_for_thickness(
    tokens: Sequence[Token], size: Size, count: Count, *, thick: Figure | None
) -> None:
    """Ask about "18 ply 720 x 560" where nothing else says a thickness.

    Raises:
        Unclear: the figure at the start may be that, and stands right before a sheet material.
    """
    first, words = tokens[0], [t.text.casefold() for t in tokens[1 : size.begin]]
    if thick or count.used != {0} or not first.text.isdigit() or int(first.text) < _THIN:
        return
    if words and words[-1] in SHEET_WORDS and all(w in MATERIAL_WORDS | KIND_WORDS for w in words):
        pieces = Fix(counted(first.text), first.start, first.end, f"{first.text} pcs")
        one = Fix(f"one piece, {first.text} thick", first.start, first.end, f"1 pc {first.text}")
        raise Unclear(f"is {first.text} the count or the thickness?", first.start, (pieces, one))


def no_whole_sheet(name: str, tokens: Sequence[Token]) -> None:
    """Ask about "1 sheet 3/4 ply 4x8" in a list of parts.

    Raises:
        Unclear: the part is called a sheet.
    """
    if name.casefold() in ("sheet", "sheets"):
        out = Fix("no part: leave it out", 0, 0, "// ")
        raise Unclear(f"'{name}': a part, or a sheet to cut from?", tokens[0].start, (out,))


def first_of_names(name: str, tokens: Sequence[Token]) -> None:
    """Ask about "same - door 30 x 12": what is the same?

    Raises:
        Unclear: the name begins with such a word and goes on behind a comma or dash.
    """
    first, comma, rest = name.partition(",")
    if comma and is_ditto(first):
        line = "".join(
            " " * (t.start - b.end) + t.text for b, t in itertools.pairwise(tokens) if t.start > tokens[0].end
        )
        bare = line.lstrip(" ,-:")
        fix = Fix("the same material", tokens[0].start, tokens[-1].end, f"{bare}, same material")
        raise Unclear(f"'{first}' before '{rest.strip()}': the same what?", tokens[0].start, (fix,))


def _no_range(tokens: Sequence[Token], size: Size, count: Count) -> None:
    """Ask about "sides 30-31 x 15": from one figure to the other, or a count with a dash too near."""
    i = size.begin - 2
    if i < 0 or tokens[i + 1].text != "-" or tokens[i].kind != "fig" or i in count.used:
        return
    if tokens[i].end == tokens[i + 1].start and tokens[i + 1].end == tokens[i + 2].start:
        whole, first = tokens[i], size.figures[0]
        fixes = [Fix(first.text, whole.start, first.start, "")]
        if whole.text.isdigit() and count.value is None:
            fixes.append(Fix(counted(whole.text), whole.start, first.start, f"{whole.text} pcs "))
        raise Unclear(f"'{whole.text}-{first.text}': which size?", whole.start, tuple(fixes))


def _no_guess(tokens: Sequence[Token], size: Size) -> None:
    """Ask about a size that is not meant exactly: "approx 30 x 15"."""
    at = size.begin - 1
    if at > 0 and tokens[at].text == ".":
        at -= 1
    if at >= 0 and tokens[at].text.casefold() in NEARLY:
        word, end = tokens[at], tokens[size.begin - 1].end
        fix = Fix("as written", word.start, end, "")
        raise Unclear(f"'{word.text}': what is it to be cut to?", word.start, (fix,))


def _no_second_count(tokens: Sequence[Token], size: Size, count: Count) -> None:
    """Ask about a whole number that begins a phrase, as a count does: "per drawer (4): 2 sides"."""
    for i in range(1, size.begin - 1):
        token, before, after = tokens[i], tokens[i - 1], tokens[i + 1]
        begins = before.kind == "other" and before.text in (":", ",", ";") and after.kind == "word"
        if count.value is not None and i not in count.used and begins and token.text.isdigit():
            raise Unclear("two counts in one entry", token.start)


def _no_difference(tokens: Sequence[Token], size: Size, count: Count) -> None:
    """Ask about "shelf 800 - 36 x 560": that many pieces, or what is left of a length."""
    i = size.begin - 2
    if i < 0 or tokens[i + 1].text != "-" or i not in count.used or not tokens[i].text.isdigit():
        return
    whole, first = figure(tokens[i].text, tokens[i].start, end=tokens[i].end), size.figures[0]
    if first.unit or whole.value <= first.value or whole.value <= _FEW:
        return
    fixes = [Fix(counted(whole.text), whole.start, first.start, f"{whole.text} pcs ")]
    if first.whole:
        less = str(int(whole.text) - int(first.text))
        fixes.append(Fix(f"{less}, what is left", whole.start, first.end, less))
    raise Unclear(f"'{whole.text} - {first.text}': a count, or a difference?", whole.start, tuple(fixes))


# Up to so many pieces a number before a dash is a count, as in "24 - 4 x 4".
_FEW = 24


def _no_marks(tokens: Sequence[Token], size: Size) -> None:
    """Ask about quote marks with no word between them where a part's name would stand."""
    ahead = tokens[: size.begin]
    marks = [t for t in ahead if t.kind == "other" and t.text in _QUOTES]
    if marks and not any(t.kind == "word" for t in ahead):
        signs = [t for t in ahead if t.kind == "other" and t.text in (*_QUOTES, "-")]
        fix = Fix("the name of the part above", signs[0].start, signs[-1].end, "ditto")
        raise Unclear(f"'{marks[0].text}': as the line above?", marks[0].start, (fix,))
