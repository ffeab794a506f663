"""Anything at all as a cut list: one clear line, or questions; answering them comes to an end."""

from __future__ import annotations

import io
import random

from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from stockyard.cutlist import CutList, read, read_table
from stockyard.errors import BadInput
from stockyard.measure import Unit
from tests.cutlist.messy import messy, spoilt
from tests.cutlist.test_nothing_is_lost import check_whole
from tests.cutlist.test_snippets import SNIPPETS

pieces = st.sampled_from(
    [
        "2",
        "12",
        "3/4",
        "1-1/2",
        "½",
        "1,200",
        "562,5",
        "1.198,5",
        "x",
        "×",
        "by",
        "@",
        "-",
        "–",
        "(",
        ")",
        "#",
        ";",
        ",",
        ":",
        "|",
        '"',
        "'",
        "''",
        "mm",
        "in",
        "ft",
        "cm",
        "L",
        "W",
        "T",
        "sq",
        "pcs",
        "off",
        "ea",
        "each",
        "two",
        "qty",
        "n",
        "Part",
        "Qty",
        "Length",
        "Width",
        "L(mm)",
        "Mat",
        "oak",
        "ply",
        "MDF",
        "8/4",
        "2x4",
        "1x6",
        "grain",
        "up",
        "any",
        "TOTAL",
        "ditto",
        "1L",
        "2L1S",
        "l0",
        "8O",
        "0",
        "-5",
        "1e9",
        "999999999",
        "from",
        "rip",
        "and",
        "in",
        "the",
        "finished",
        "edge",
        "==",
        "Date:",
        "4-Mar",
        "=>",
        "same",
        "(same ply)",
        "as above",
        "same as Part",
        "quarter",
        "half",
        "inch",
        "twelve",
        "three",
        "all",
        "only",
        "unless",
        "edged",
        "banded",
        "front",
        "long",
        "all round",
        "edging",
        "L1",
        "+",
        "(# note)",
        "(all 18 mm",
        "\u200b",
        "２",
    ]
)
gaps = st.sampled_from((" ", "  ", "\t", "", "\n", ";", ",", "|"))
scribbles = st.lists(st.tuples(pieces, gaps), max_size=40).map(lambda p: "".join(a + b for a, b in p))


def understood(text: str, unit: Unit) -> CutList | None:
    try:
        return read(text, unit=unit)
    except BadInput as error:
        assert "\n" not in str(error)
        return None


@settings(max_examples=600, deadline=None)
@given(scribbles, st.sampled_from(Unit))
def test_scribbles_of_the_words_of_lists(text: str, unit: Unit) -> None:
    if found := understood(text, unit):
        check_whole(text, found)


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=300), st.sampled_from(Unit))
def test_any_text(text: str, unit: Unit) -> None:
    understood(text, unit)


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=400))
def test_any_bytes(data: bytes) -> None:
    try:
        read(read_table(data), unit=Unit.MM)
    except BadInput as error:
        assert "\n" not in str(error)


def test_broken_spreadsheets() -> None:
    book = Workbook()
    book.active.append(["Part", "Qty", "Length", "Width"])  # type: ignore[union-attr]
    book.active.append(["side", 2, 720, 560])  # type: ignore[union-attr]
    out = io.BytesIO()
    book.save(out)
    whole, rng = out.getvalue(), random.Random(7)
    for _ in range(150):
        data = bytearray(whole[: rng.randrange(len(whole))] if rng.random() < 0.3 else whole)
        for _ in range(rng.randrange(1, 30)):
            if data:
                data[rng.randrange(len(data))] = rng.randrange(256)
        try:
            read(read_table(bytes(data)), unit=Unit.MM)
        except BadInput as error:
            assert "\n" not in str(error)


def test_answering_comes_to_an_end() -> None:
    """Take the first reading of each question, leave out what has none: a dozen rounds leave none open."""
    for seed in range(300):
        rng = random.Random(seed)
        unit, text = SNIPPETS[rng.choice(list(SNIPPETS))] if seed % 2 else messy(rng)[1::-1]
        broken = spoilt(rng, text)
        answers: dict[str, str] = {}
        for _ in range(12):
            try:
                found = read(broken, unit=unit, answers=answers)
            except BadInput:
                break
            if not found.questions:
                break
            for question in found.questions:
                answers[question.id] = question.readings[0].key if question.readings else "skip"
        else:
            raise AssertionError((seed, broken, found.questions))
