"""How many: the count of an entry, said in one of the ways people say it."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from stockyard.cutlist.figures import Fix, Unclear, counted, whole_count
from stockyard.cutlist.sizes import Size
from stockyard.cutlist.tokens import Token
from stockyard.cutlist.unsure_counts import ask_about
from stockyard.cutlist.words import COUNT_LABELS, COUNT_WORDS, FACES, NUMBER_WORDS

_IN_PARENS = re.compile(r"[(\[]\s*(?:x\s*)?(\d{1,12})\s*(?:[a-zé]+\.?)?\s*[)\]]$", re.IGNORECASE)
_SPLIT_FRACTION = re.compile(r"(\d{1,3}) (\d+/\d+.*)$")
# More than this many of one part, written before an x, is a size and not a count.
LIKELY = 100


@dataclass(frozen=True, slots=True)
class Count:
    """A count found: its value (None: the entry gives none) and the tokens that say it."""

    value: int | None
    used: frozenset[int] = frozenset()


def paren_count(token: Token) -> int | None:
    """Return the count in "(4)", "(2 off)", "(x2)", None when the brackets hold something else."""
    m = _IN_PARENS.match(token.text)
    if not m:
        return None
    word = re.sub(r"[^a-zé]", "", token.text.casefold())
    if word and word not in COUNT_WORDS:
        return None
    return whole_count(m[1], token.start)


def _is_whole(token: Token) -> bool:
    return token.kind == "fig" and token.text.isdigit()


def _word(tokens: Sequence[Token], i: int) -> str:
    return tokens[i].text.casefold() if 0 <= i < len(tokens) and tokens[i].kind == "word" else ""


def strong_counts(tokens: Sequence[Token], size: Size | None) -> list[tuple[int, frozenset[int]]]:
    """Return every count said outright (2 pcs, qty 2, (2), two, 2 @, 12 - size), with its tokens."""
    begin, end = (size.begin, size.end) if size else (len(tokens), len(tokens))
    found = []
    for i, token in enumerate(tokens):
        if begin <= i < end:
            continue
        if token.kind == "paren":
            if (value := paren_count(token)) is not None:
                found.append((value, frozenset((i,))))
        elif token.kind == "word":
            value = NUMBER_WORDS.get(token.text.casefold())
            if value and (i == 0 or _word(tokens, i + 1) in COUNT_WORDS):
                tail = {i + 1} if _word(tokens, i + 1) in COUNT_WORDS else set()
                found.append((value, frozenset({i} | tail)))
        elif _is_whole(token) and (used := _said(tokens, i, size)):
            found.append((whole_count(token.text, token.start), used))
    return found


def _said(tokens: Sequence[Token], i: int, size: Size | None) -> frozenset[int]:
    """Return the tokens that make the whole number at `i` a count outright, none if nothing does."""
    if size and size.count_at == i:
        return frozenset((i, i + 1))
    if i + 1 < len(tokens) and tokens[i + 1].text == "@":
        return frozenset((i, i + 1))
    after = _word(tokens, i + 1)
    apart = after == "x" and tokens[i + 1].start > tokens[i].end
    if after in COUNT_WORDS and not (apart and (i > 0 or not _word(tokens, i + 2))):
        dot = i + 2 < len(tokens) and tokens[i + 2].text == "." and tokens[i + 2].start == tokens[i + 1].end
        return frozenset((i, i + 1, i + 2) if dot else (i, i + 1))
    if _word(tokens, i - 1) in COUNT_LABELS:
        return frozenset((i - 1, i))
    if i > 1 and tokens[i - 1].text in (":", "=") and _word(tokens, i - 2) in COUNT_LABELS:
        return frozenset((i - 2, i - 1, i))
    if i + 1 < len(tokens) and tokens[i + 1].text == "-":
        dash, spaced_after = tokens[i + 1], i + 2 < len(tokens) and tokens[i + 2].start > tokens[i + 1].end
        before_size = size is not None and i + 2 == size.begin
        if spaced_after and (before_size or (i == 0 and dash.start == tokens[i].end)):
            return frozenset((i, i + 1))
    return frozenset()


def find_count(tokens: Sequence[Token], size: Size) -> Count:
    """Return the count of an entry with a size.

    Raises:
        Unclear: two counts, or a figure that may be a count or part of the size.
    """
    strong = strong_counts(tokens, size)
    weak = _weak(tokens, size, strong[0][1] if strong else frozenset())
    ask_about(tokens, size, [used for _, used in strong] or [frozenset((i,)) for i in weak])
    if len(strong) > 1:
        raise Unclear("two counts in one entry", tokens[min(strong[1][1])].start)
    if strong:
        at = min(strong[0][1])
        if weak and tokens[at].kind == "word" and tokens[at].text.casefold() in NUMBER_WORDS:
            raise Unclear("two counts in one entry", tokens[weak[0]].start)
        return Count(*strong[0])
    if len(weak) > 1:
        fixes = tuple(
            Fix(f"{tokens[i].text} pcs", tokens[i].start, tokens[i].end, f"{tokens[i].text} pcs")
            for i in weak
        )
        raise Unclear(f"{' or '.join(tokens[i].text for i in weak)} of them?", tokens[weak[0]].start, fixes)
    if weak:
        token = tokens[weak[0]]
        return Count(whole_count(token.text, token.start), frozenset(weak))
    _doubt_spoken(tokens)
    _doubt_name(tokens, size)
    _doubt_size(size)
    _doubt_trailing(tokens, size)
    return Count(None)


def _weak(tokens: Sequence[Token], size: Size, used: frozenset[int]) -> list[int]:
    """Return bare whole numbers where a count may stand: first before a word, or last before the size."""
    found = []
    if tokens and _is_whole(tokens[0]) and size.begin > 1 and _word(tokens, 1) and 0 not in used:
        found.append(0)
    last = size.begin - 1
    while last > 0 and tokens[last].text == ",":
        last -= 1
    if last >= 0 and _is_whole(tokens[last]) and last not in used and last not in found:
        found.append(last)
    return found


def _before(tokens: Sequence[Token], last: Token, out: str) -> str:
    """Return `out` and the texts of the tokens before `last`."""
    return out + "".join(f"{token.text} " for token in tokens if token.start < last.start)


def _doubt_spoken(tokens: Sequence[Token]) -> None:
    """Ask when the number word of a fraction may be the count: "three quarter inch shelves"."""
    for token in tokens:
        if token.counts > 1:
            less = re.sub(r"^\d+", "1", token.text)
            whole, front = token.text, tokens[0].start
            pieces = Fix(
                f"{token.counts} pieces, {less}", token.start, token.end, f"{token.counts} pcs {less}"
            )
            one = Fix(f"one piece, {whole}", front, token.end, _before(tokens, token, "1 pc ") + whole)
            raise Unclear(f"'{whole}': may {token.counts} be how many?", token.start, (pieces, one))


def _doubt_name(tokens: Sequence[Token], size: Size) -> None:
    """Ask when a number before the size may be the count or belong to the name ("Shelf 3: 600x400")."""
    for token in tokens[: size.begin]:
        if _is_whole(token):
            n, front = token.text, tokens[0].start
            pieces = Fix(counted(n), token.start, token.end, f"{n} pcs")
            one = Fix("one piece" if n != "1" else "one piece, and 1 in its name", front, front, "1 pc ")
            raise Unclear(f"is {n} the count or part of the name?", token.start, (pieces, one))


def _doubt_size(size: Size) -> None:
    """Ask when the first or last figure of a size with no count may hold the count."""
    a, n = size.figures[0], len(size.figures)
    last, joint = size.figures[-1], size.joints[-1] if size.joints else None
    if n == 3 and last.whole and last.value <= LIKELY and joint and joint.kind == "x":
        before = size.figures[1]
        if joint.end == last.start and joint.start > before.end:
            pieces = Fix(counted(last.text), joint.start, last.end, f" - {last.text} pcs")
            thick = Fix(f"one piece, {last.text} thick", last.end, last.end, " - 1 pc")
            raise Unclear(f"is {last.text} the count or the thickness?", last.start, (pieces, thick))
    rest = size.figures[1].start if n > 1 else a.end
    if a.whole and a.value <= LIKELY and n > 2 and not any(size.roles):
        pieces = Fix(counted(a.text), a.start, rest, f"{a.text} pcs ")
        one = Fix(f"one piece, {a.text} is part of its size", a.start, a.start, "1 pc ")
        raise Unclear(
            f"is {a.text} the count or part of the size?", a.start, (pieces, one) if n < 4 else (pieces,)
        )
    if m := _SPLIT_FRACTION.match(a.text):
        pieces = Fix(f"{m[1]} pieces, {m[2]}", a.start, a.end, f"{m[1]} pcs {m[2]}")
        one = Fix(f"one piece, {m[1]}-{m[2]}", a.start, a.end, f"1 pc {m[1]}-{m[2]}")
        raise Unclear(f"'{a.text}' may hold the count", a.start, (pieces, one))


def _doubt_trailing(tokens: Sequence[Token], size: Size) -> None:
    """Ask when the only figure after the size is a whole number with nothing to say what it is."""
    after = [t for t in tokens[size.end :] if t.kind == "fig"]
    last = tokens[-1]
    side = size.end + 2
    if size.begin == 0 and len(after) == 1 and _word(tokens, side) in FACES and _is_whole(tokens[side - 1]):
        n = tokens[side - 1]
        raise Unclear(
            f"is {n.text} the count?", n.start, (Fix(counted(n.text), n.start, n.end, f"{n.text} pcs"),)
        )
    if len(after) == 1 and last is after[0] and last.text.isdigit():
        before = tokens[-2]
        if before.kind != "word":
            fix = Fix(counted(last.text), last.start, last.end, f"{last.text} pcs")
            raise Unclear(f"is {last.text} the count?", last.start, (fix,))
