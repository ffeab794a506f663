"""What became of each word of a line: a line with words nobody has claimed is not read but asked about."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from stockyard.cutlist.figures import Unclear
from stockyard.cutlist.model import Span, Use
from stockyard.cutlist.tokens import Token, has_figure
from stockyard.cutlist.words import word_set

# Words between what is said that say nothing themselves.
_JOINING = word_set("""
    a an all and are as at both by each ea every everything for from from: in in: is it of off on only out
    parts pieces size sizes the these they to with x und et aus en de du die der das
    """)


class Claims:
    """The spans of a line with the use each has been put to; the first to claim a character has it."""

    def __init__(self) -> None:
        self._spans: list[tuple[int, int, Use]] = []

    def take(self, start: int, end: int, use: Use) -> None:
        """Claim plain[start:end]."""
        if start < end:
            self._spans.append((start, end, use))

    def tokens(self, tokens: Sequence[Token], which: Iterable[int], use: Use) -> None:
        """Claim some of these tokens."""
        for i in which:
            self.take(tokens[i].start, tokens[i].end, use)

    def extend(self, spans: Iterable[tuple[int, int, Use]]) -> None:
        """Claim what a part of the line has claimed already."""
        self._spans.extend(spans)

    def spans(self) -> tuple[tuple[int, int, Use], ...]:
        """Return what is claimed."""
        return tuple(self._spans)


def settled(number: int, line: str, spans: Iterable[tuple[int, int, Use]]) -> tuple[Span, ...]:
    """Return the spans of a line that is read, each character with letters and figures under one of them.

    Raises:
        Unclear: a word is claimed by nobody.
    """
    uses: list[Use | None] = [None] * len(line)
    for start, end, use in spans:
        for at in range(start, min(end, len(line))):
            uses[at] = uses[at] or use
    out: list[Span] = []
    at = 0
    while at < len(line):
        end = at + 1
        while end < len(line) and uses[end] is uses[at]:
            end += 1
        here, text = uses[at], line[at:end]
        if here is None and any(c.isalnum() or has_figure(c) for c in text):
            words = text.strip().casefold().split()
            if any(w.strip(".,;:()[]-&+/") not in _JOINING for w in words if any(c.isalnum() for c in w)):
                shift = len(text) - len(text.lstrip())
                raise Unclear(f"'{text.strip()[:40]}' is not understood", at + shift)
            here = Use.JOINT
        if here is not None:
            out.append(Span(number, at, end, here))
        at = end
    return tuple(out)
