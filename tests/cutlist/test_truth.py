"""Random lists whose truth is known: each line is read right or asked about, and no word is lost."""

from __future__ import annotations

import pytest

from stockyard.cutlist import CutList, Row, read
from stockyard.cutlist.model import Fate, Use
from stockyard.cutlist.tokens import plain_line
from tests.cutlist.truth import INCH_THICK, Part, Truth, Writer

# Words before a material that say nothing else.
JOINING = ("in", "from", "of", "the", "all", "a")
THICK = {w for name in INCH_THICK.values() for w in (*name.split(), name.replace(" ", "-"))} | {"inch", "mm"}
QUICK, ALL = 300, 3000


def asked(found: CutList) -> dict[str, set[int]]:
    """Return the lines that each kind of question is about."""
    lines: dict[str, set[int]] = {}
    for q in found.questions:
        stem = q.id.rstrip("0123456789.")
        lines.setdefault(stem, set()).update((*q.lines, q.line))
    return lines


def check_row(row: Row, part: Part, about: dict[str, set[int]], where: tuple[object, ...]) -> None:
    """A row says what its part was meant to be, but for what is still asked."""
    n = row.line
    if n not in about.get("count", ()):
        assert row.count == part.count, where
    if n in about.get("line", ()):
        return
    if n not in about.get("unit", ()):
        assert {row.length, row.width} == {part.first, part.second}, where
        if "*" not in part.stuff.words:
            assert row.length == part.first, where
    assert row.thickness == part.stuff.thick, (*where, row)
    if "*" not in part.stuff.words:
        assert row.material == part.stuff.words, (*where, row)
        assert row.name.casefold().rstrip("s") == part.name.casefold().rstrip("s"), (*where, row)
    if n not in about.get("edges", ()):
        assert row.bands == part.bands, (*where, row)
    assert part.note in row.note, (*where, row)


def check_words(truth: Truth, found: CutList) -> None:
    """Each letter and figure of a line that was read has a use, and the use shows in what came of it."""
    told = {r.line for r in (*found.ignored, *found.warnings)} | {
        n for ns in asked(found).values() for n in ns
    }
    for number, (text, fate) in enumerate(zip(truth.lines, found.fates, strict=True), 1):
        line = plain_line(text)
        spans = [s for s in found.spans if s.line == number]
        if fate is Fate.ROW or (fate is Fate.HEADING and spans):
            covered = {at for s in spans for at in range(s.start, s.end)}
            lost = [c for at, c in enumerate(line) if c.isalnum() and at not in covered]
            assert not lost, (line, lost)
        elif line.strip():
            assert number in told, line
        rows = [r for r in found.rows if r.line == number]
        unread = " ".join(r.says for r in found.unread if r.line == number)
        for span in spans:
            words = line[span.start : span.end].strip(' ,;:()"')
            if span.use is Use.NAME:
                assert any(words in r.name for r in rows), (line, words)
            elif span.use is Use.MATERIAL and fate is Fate.ROW:
                said = " ".join(f"{r.material} {r.note}" for r in rows).casefold().split()
                others = [w for w in words.casefold().split() if w not in said and w not in JOINING]
                # a table's cell says the thickness too
                assert all(any(c.isdigit() for c in w) or w in THICK for w in others), (line, words)
            elif span.use is Use.NOTE:
                assert words.lstrip("#/ ") in unread, (line, words)


def check(seed: int) -> tuple[int, int]:
    """Check one list; return how many parts it asks for and how many of them were not read outright."""
    truth = Writer(seed).whole()
    text = "\n".join(truth.lines) + "\n"
    found = read(text, unit=truth.unit, first="along", finished=False)
    about = asked(found)
    open_lines = {q.line for q in found.questions if q.id.startswith("line")} | about.get("columns", set())
    wanted = unsure = 0
    for number, parts in enumerate(truth.parts, 1):
        rows = [r for r in found.rows if r.line == number]
        wanted += len(parts)
        if number in open_lines:
            assert not rows, (seed, text)
            unsure += len(parts)
            continue
        assert len(rows) == len(parts), (seed, number, truth.lines[number - 1], found.questions)
        for row, part in zip(rows, parts, strict=True):
            check_row(row, part, about, (seed, truth.lines[number - 1], part))
    check_words(truth, found)
    return wanted, unsure


def test_known_lists_are_read_right_or_asked() -> None:
    results = [check(seed) for seed in range(QUICK)]
    # a reader that asked about everything would never be wrong, and help nobody
    assert sum(unsure for _, unsure in results) < 0.2 * sum(wanted for wanted, _ in results)


@pytest.mark.slow
def test_three_thousand_known_lists_are_read_right_or_asked() -> None:
    for seed in range(QUICK, ALL):
        check(seed)
