"""Whatever a list looks like: no traceback, and every part in it is read, asked about or refused."""

from __future__ import annotations

import os
import random

import pytest

from stockyard.cutlist import CutList, read
from stockyard.cutlist.model import Fate
from stockyard.cutlist.tokens import plain_line
from stockyard.errors import BadInput
from stockyard.measure import Unit
from tests.cutlist.messy import messy, spoilt
from tests.cutlist.test_snippets import SNIPPETS

# STOCKYARD_CASES=100000 runs the full number in the quick tests too.
CASES = int(os.environ.get("STOCKYARD_CASES", "800"))


def counts_by_line(found: CutList) -> dict[int, int]:
    counts: dict[int, int] = {}
    for row in found.rows:
        counts[row.line] = counts.get(row.line, 0) + row.count
    return counts


def asked_lines(found: CutList) -> set[int]:
    return {n for q in found.questions for n in (*q.lines, q.line)}


def check_whole(text: str, found: CutList) -> None:
    """Every line has one fate, and that fate has something to show for itself."""
    lines = text.split("\n")
    lines = lines[:-1] if lines[-1] == "" else lines
    assert len(found.fates) == len(lines)
    counts, asked = counts_by_line(found), asked_lines(found)
    told = {r.line for r in found.ignored} | {w.line for w in found.warnings}
    for number, (line, fate) in enumerate(zip(lines, found.fates, strict=True), 1):
        assert (fate is Fate.ROW) == (number in counts), line
        if fate is Fate.QUESTION:
            assert number in asked, line
        elif fate is not Fate.ROW and line.strip(" \t\u00a0\u200b"):
            assert number in told, line
    check_words(lines, found)
    for row in found.rows:
        assert row.count > 0 and row.length > 0 and row.width > 0, row
    for question in found.questions:
        assert 1 <= question.line <= len(lines) and question.column >= 1
        assert question.column <= len(lines[question.line - 1]) + 1


def check_words(lines: list[str], found: CutList) -> None:
    """Each letter and figure of a line that is read lies under a use of its own."""
    uses: dict[int, set[int]] = {}
    for span in found.spans:
        uses.setdefault(span.line, set()).update(range(span.start, span.end))
    for number, (text, fate) in enumerate(zip(lines, found.fates, strict=True), 1):
        if fate is Fate.ROW:
            line = plain_line(text.rstrip(" \r"))
            lost = [c for at, c in enumerate(line) if c.isalnum() and at not in uses.get(number, ())]
            assert not lost, (text, lost)
    assert all(found.fates[number - 1] in (Fate.ROW, Fate.HEADING) for number in uses)


def check_known(seed: int) -> None:
    """Quantities read plus those asked about are those in the text, and sizes read are right."""
    text, unit, known = messy(random.Random(seed))
    found = read(text, unit=unit)
    check_whole(text, found)
    counts, asked = counts_by_line(found), asked_lines(found)
    for number, part in enumerate(known, 1):
        if part is None:
            assert number not in counts, text
        elif number not in asked:
            assert counts.get(number) == part.count, (number, text)
            (row,) = [r for r in found.rows if r.line == number]
            assert {row.length, row.width} == {part.first, part.second}, (number, text)


def check_spoilt(seed: int) -> None:
    """A spoilt text gives no traceback, and what one spoilt line does not touch is not lost."""
    rng = random.Random(seed)
    if seed % 2:
        unit, text = SNIPPETS[rng.choice(list(SNIPPETS))]
    else:
        text, unit, _ = messy(rng)
    broken = spoilt(rng, text).replace("\r", "")
    try:
        check_whole(broken, read(broken, unit=unit))
    except BadInput as error:
        assert "\n" not in str(error)
    check_neighbours(rng, text, unit)


def check_neighbours(rng: random.Random, text: str, unit: Unit) -> None:
    """Spoil one line: every other line keeps its count, or is asked about."""
    lines = text.split("\n")
    at = rng.randrange(len(lines))
    before = counts_by_line(read(text, unit=unit))
    lines[at] = spoilt(rng, lines[at], keep_lines=True).replace("\n", "")
    found = read("\n".join(lines), unit=unit)
    after, asked = counts_by_line(found), asked_lines(found)
    for number, count in before.items():
        if number != at + 1 and number not in asked:
            assert after.get(number) == count, (number, "\n".join(lines))


def test_known_lists_are_read_or_asked_about() -> None:
    for seed in range(CASES):
        check_known(seed)


def test_spoilt_lists_lose_nothing() -> None:
    for seed in range(CASES):
        check_spoilt(seed)


@pytest.mark.slow
@pytest.mark.parametrize("block", range(10))
def test_a_hundred_thousand_spoilt_lists_lose_nothing(block: int) -> None:
    for seed in range(block * 10_000, (block + 1) * 10_000):
        check_spoilt(seed)


@pytest.mark.slow
def test_twenty_thousand_known_lists() -> None:
    for seed in range(20_000):
        check_known(seed)


def test_most_known_lines_need_no_question() -> None:
    """A reader that asked about everything would lose nothing and help nobody."""
    lines = asked = 0
    for seed in range(300):
        text, unit, known = messy(random.Random(seed))
        found = read(text, unit=unit, first="along", answers={"count": "one"})
        open_lines = {n for q in found.questions if q.kind == "line" for n in q.lines}
        lines += sum(1 for part in known if part)
        asked += sum(1 for n, part in enumerate(known, 1) if part and n in open_lines)
    assert asked / lines < 0.25
