"""Counts that are not sure: "2 or 3 shelves", "ca 4", "4 or more" are asked about."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from stockyard.cutlist.figures import MOST_PARTS, Fix, Unclear, counted
from stockyard.cutlist.sizes import Size
from stockyard.cutlist.tokens import Token
from stockyard.cutlist.words import COUNT_WORDS, NUMBER_WORDS, word_set

_BETWEEN = word_set("or to and oder bis und ou à et maybe perhaps possibly")
_OPEN = word_set("more so less fewer mehr plus")
_ROUGHLY = word_set(
    "ca circa about approx approximately around roughly maybe perhaps possibly etwa ungefähr environ ~ ≈"
)
_LIMITS = (("at", "least"), ("at", "most"), ("up", "to"), ("no", "more", "than"), ("more", "than"))


def ask_about(tokens: Sequence[Token], size: Size, counts: Sequence[frozenset[int]]) -> None:
    """Ask where what counts (one of `counts`, without any the first or last words) is not one number.

    Raises:
        Unclear: such a number.
    """
    for begin, end, numbers in _doubtful(tokens, size):
        phrase = set(range(begin, end))
        met = [used for used in counts if used & phrase]
        if not met and (counts or not (begin == 0 or end in (len(tokens), size.begin))):
            continue
        phrase = phrase.union(*met)
        if end < len(tokens) and (tokens[end].text == "@" or _said(tokens, end) in COUNT_WORDS - {"x"}):
            phrase.add(end)
        a, b = tokens[min(phrase)].start, tokens[max(phrase)].end
        gaps = (" " * (tokens[i].start > tokens[i - 1].end > 0 and i > begin) for i in range(begin, end))
        said = "".join(gap + token.text for gap, token in zip(gaps, tokens[begin:end], strict=True))
        fixes = tuple(Fix(counted(str(n)), a, b, f"{n} pcs") for n in numbers)
        raise Unclear(f"'{said}': how many?", a, fixes)


def _doubtful(tokens: Sequence[Token], size: Size) -> Iterator[tuple[int, int, tuple[int, ...]]]:
    """Yield the bounds of what says several numbers, or about one, outside the size, and those numbers."""
    for i in range(len(tokens)):
        n = _number(tokens, i)
        if n is None or size.begin <= i < size.end:
            continue
        at = i + 1
        if at < len(tokens) and tokens[at].text == ",":
            at += _said(tokens, at + 1) in _ROUGHLY
        other = _number(tokens, at + 1) if not size.begin <= at + 1 < size.end else None
        if _said(tokens, at) in _BETWEEN and other is not None:
            yield i, at + 2, tuple(sorted({n, other}))
        elif _said(tokens, at) in ("or", "oder", "ou") and _said(tokens, at + 1) in _OPEN:
            yield i, at + 2, (n,)
        elif _said(tokens, at) == "ish" and tokens[at].start == tokens[i].end:
            yield i, at + 1, (n,)
        elif begin := _lead(tokens, i):
            yield i - begin, i + 1, (n,)


def _lead(tokens: Sequence[Token], i: int) -> int:
    """Return how many tokens before a number say that it is about so many, or so many at least or most."""
    dot = i > 1 and tokens[i - 1].text == "." and tokens[i - 2].end == tokens[i - 1].start
    if _said(tokens, i - 1 - dot) in _ROUGHLY:
        return 1 + dot
    for words in _LIMITS:
        if i >= len(words) and all(_said(tokens, i - len(words) + k) == w for k, w in enumerate(words)):
            return len(words)
    return 0


def _number(tokens: Sequence[Token], i: int) -> int | None:
    if not 0 <= i < len(tokens):
        return None
    token = tokens[i]
    if token.kind == "fig" and token.text.isdigit() and len(token.text) <= len(str(MOST_PARTS)):
        return int(token.text) or None
    return NUMBER_WORDS.get(token.text.casefold()) if token.kind == "word" else None


def _said(tokens: Sequence[Token], i: int) -> str:
    return tokens[i].text.casefold() if 0 <= i < len(tokens) and tokens[i].kind in ("word", "other") else ""
