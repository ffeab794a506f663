"""Parts that are numbered: "Drawer 1", "Drawer 2" on lines that follow each other may be names or counts."""

from __future__ import annotations

import re
from collections.abc import Sequence

from stockyard.cutlist.figures import Fix, Unclear
from stockyard.cutlist.quantities import strong_counts
from stockyard.cutlist.sizes import Size
from stockyard.cutlist.tokens import Token, plain_line
from stockyard.cutlist.words import COUNT_LABELS, COUNT_WORDS

_NAMED = re.compile(
    r"\W*([^\W\d_][^\d,:;|@=()\t]{0,80}?) ?#? ?(\d{1,2})(?=[\s:,-])(?!\s*[x×*@/]|[ -]\d+/)(.*)"
)


def numbered_lines(lines: Sequence[str]) -> frozenset[int]:
    """Return the lines, counted from 1, that begin with one name and numbers that go up by one."""
    found: set[int] = set()
    last: tuple[int, str, int] | None = None
    for number, raw in enumerate(lines, start=1):
        if not raw.strip():
            continue
        m = _NAMED.match(plain_line(raw))
        after = m[3].split(maxsplit=1) if m else []
        if not m or (after and after[0].casefold().strip(".") in COUNT_WORDS):
            last = None
            continue
        this = (number, " ".join(m[1].casefold().split()), int(m[2]))
        if last and this[1:] == (last[1], last[2] + 1):
            found |= {last[0], number}
        last = this
    return frozenset(found)


def ask_numbered(tokens: Sequence[Token], size: Size) -> None:
    """Ask whether the number behind the name of a numbered line counts the parts.

    Raises:
        Unclear: it stands right before the size, and no other word says how many.
    """
    end = size.begin - 1 if size.begin and tokens[size.begin - 1].text in ("-", ":") else size.begin
    at = end - 1
    if at < 1 or not tokens[at].text.isdigit() or tokens[at - 1].text.casefold() in COUNT_LABELS:
        return
    if any(at not in used for _, used in strong_counts(tokens, size)):
        return
    token, last = tokens[at], tokens[at if end == size.begin else end]
    name = " ".join(t.text for t in tokens[:at])
    pieces = Fix(f"{token.text} × {name}", token.start, token.end, f"{token.text} pcs")
    one = Fix(f"one piece, {name} {token.text}", tokens[0].start, last.end, f"1 pc {name} {token.text}:")
    raise Unclear(f"is {token.text} the count or part of the name?", token.start, (pieces, one))
