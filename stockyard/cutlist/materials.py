"""Material words and the named thickness that stands beside them."""

from __future__ import annotations

from collections.abc import Sequence

from stockyard.cutlist.draft import Shop, Substance
from stockyard.cutlist.figures import Figure, Unclear, figure
from stockyard.cutlist.marks import MARKS
from stockyard.cutlist.tokens import Token, scan
from stockyard.cutlist.words import COUNT_WORDS, KIND_WORDS, LEADS, PREPOSITIONS
from stockyard.measure import Unit

_THICK_WORDS = frozenset(("thick", "thk", "t", "thickness", "stark", "dick"))
_MEASURES = MARKS.keys() - _THICK_WORDS
_ARTICLES = frozenset(("a", "an"))
_BEFORE = PREPOSITIONS | LEADS | _ARTICLES


def from_cell(text: str, start: int, shop: Shop, unit: Unit | None = None) -> Substance:
    """Read a table's material cell: "oak vnr 19", "3/4 birch ply", "MFC white".

    Raises:
        Unclear: two figures, so that the thickness is in doubt.
    """
    folded = text.strip().casefold()
    if folded in ("", "-") or any(m.name.casefold() == folded for m in shop.materials):
        return Substance("" if folded == "-" else text.strip())
    tokens = scan(text, start)
    figures = [t for t in tokens if t.kind == "fig"]
    if len(figures) > 1:
        raise Unclear(f"'{text.strip()[:40]}' has two figures: which is the thickness?", figures[1].start)
    if not figures:
        return Substance(text.strip())
    thickness = figure(figures[0].text, figures[0].start, unit, end=figures[0].end)
    words = [t.text for t in tokens if t.kind != "fig" and t.text.casefold() not in _THICK_WORDS]
    return Substance(" ".join(w for w in words if w not in ",;:-"), thickness)


def in_entry(
    tokens: Sequence[Token], free: Sequence[int], shop: Shop, begin: int, *, named: bool
) -> Substance:
    """Read material and thickness from the tokens of an entry that are still free.

    `begin` is where the size stood; `named` says that words before it already name the part.

    Raises:
        Unclear: two thicknesses.
    """
    thickness: Figure | None = None
    used: set[int] = set()
    words: list[int] = []
    for i in free:
        token = tokens[i]
        if token.kind != "fig" or not _is_thickness(tokens, i, shop):
            continue
        if thickness:
            raise Unclear("two thicknesses in one entry", token.start)
        thickness = figure(token.text, token.start, end=token.end)
        lead = [j for j in _before(tokens, i, used) if j in free]
        tail = _run(tokens, i + 1, free)
        if tail and tokens[tail[0]].text.casefold() in _THICK_WORDS:
            used.add(tail.pop(0))
        words = _to_last_known(tokens, tail, shop) or _material_before(tokens, i, free, shop)
        used |= {i, *lead, *words}
    if not words:
        words = _plain_words(tokens, [i for i in free if i not in used and i >= begin], shop, named=named)
        used |= set(words)
        if words:
            used |= {j for j in _before(tokens, words[0], used) if j in free and j >= begin}
    return Substance(" ".join(tokens[i].text for i in words), thickness, frozenset(used))


def _known(token: Token, shop: Shop) -> bool:
    return token.kind == "word" and token.text.casefold() in shop.words


def _is_thickness(tokens: Sequence[Token], i: int, shop: Shop) -> bool:
    before = tokens[i - 1] if i else None
    if i + 1 < len(tokens) and tokens[i + 1].text.casefold() in COUNT_WORDS:
        return False
    if before and before.kind == "word" and before.text.casefold() in PREPOSITIONS | _THICK_WORDS:
        return True
    if before and _known(before, shop):
        return True
    for token in tokens[i + 1 : i + 5]:
        if token.kind != "word" or token.text.casefold() in PREPOSITIONS | LEADS | _MEASURES:
            return False
        if _known(token, shop) or token.text.casefold() in _THICK_WORDS:
            return True
    return False


def _before(tokens: Sequence[Token], i: int, used: set[int]) -> list[int]:
    """Return the prepositions right before token `i` ("from the")."""
    found = []
    j = i - 1
    while j >= 0 and j not in used and tokens[j].text.casefold() in _BEFORE:
        found.append(j)
        j -= 1
    if found and tokens[found[-1]].text.casefold() in _ARTICLES and j >= 0 and tokens[j].kind == "word":
        # "panel A 3/4 oak": the letter ends a name
        found.pop()
    return found


def _run(tokens: Sequence[Token], i: int, free: Sequence[int]) -> list[int]:
    """Return the free words from token `i` on, up to the next sign or figure."""
    found = []
    while i < len(tokens) and tokens[i].kind == "word" and i in free:
        found.append(i)
        i += 1
    return found


def _to_last_known(tokens: Sequence[Token], run: list[int], shop: Shop) -> list[int]:
    last = max((k for k, i in enumerate(run) if _known(tokens[i], shop)), default=-1)
    return run[: last + 1]


def _material_before(tokens: Sequence[Token], i: int, free: Sequence[int], shop: Shop) -> list[int]:
    j = i
    while j - 1 in free and tokens[j - 1].kind == "word":
        j -= 1
    return [j + k for k in named_words([t.text for t in tokens[j:i]], shop)]


def _plain_words(tokens: Sequence[Token], free: list[int], shop: Shop, *, named: bool) -> list[int]:
    """Return material words after a size that stand apart: after a sign, or when the part has a name."""
    k = 0
    while k < len(free):
        run = _run(tokens, free[k], free)
        if not run:
            k += 1
            continue
        skipped = [i for i in run if tokens[i].text.casefold() not in _BEFORE]
        known = _to_last_known(tokens, skipped, shop)
        apart = named or tokens[run[0] - 1].kind == "other" or tokens[run[0]].text.casefold() in _BEFORE
        if known and (apart or len(known) == len(skipped)):
            return known
        k += len(run)
    return []


def named_words(words: Sequence[str], shop: Shop) -> list[int]:
    """Return which of these words name a material, with the kind before it: "two red oak" -> [1, 2]."""
    known = [w.casefold() in shop.words for w in words]
    for k in range(len(words) - 2, -1, -1):
        known[k] = known[k] or (known[k + 1] and words[k].casefold() in KIND_WORDS)
    return [k for k, is_known in enumerate(known) if is_known]


def words_in(text: str, shop: Shop) -> str:
    """Return the material words inside a name ("red oak shelf" -> "red oak"), "" if there are none."""
    words = text.replace(",", " ").split()
    return " ".join(words[k] for k in named_words(words, shop))
