"""Finding pieces: words in any order, either unit, best fit first."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard import yard
from stockyard.errors import StockyardError
from stockyard.measure import Unit, parse
from stockyard.settings import inch_shop
from stockyard.yard import Yard, materials, pieces, places, search
from stockyard.yard.model import Form, Storage
from tests.yard.shop import MM, Shop, add_job, cut_off, full, layout, plan_for, store

INCH = parse("1", Unit.INCH)


@pytest.fixture(scope="module")
def inch_yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Yard]:
    """A yard in inches with plywoods of three thicknesses and an oak board."""
    with yard.new(tmp_path_factory.mktemp("inch") / "yard.db", inch_shop()) as y:
        for name in ("1/4", "1/2", "3/4"):
            materials.add_material(y, "birch ply", Form.SHEET, name, parse(name, Unit.INCH), grain=True)
        materials.add_material(y, "white oak", Form.BOARD, "4/4", parse("15/16", Unit.INCH), grain=True)
        places.add_place(y, "R1", Storage.FLAT)
        yield y


ASKED = [
    ("20 x 30 1/2 ply", 20, 30, "1/2 ply"),
    ("1/2 ply 20 x 30", 20, 30, "1/2 ply"),
    ("ply 20x30 1/2", 20, 30, "1/2 ply"),
    ("anything at least 20 x 30 in half-inch ply?", 20, 30, "1/2 ply"),
    ("20 x 30-1/2 1/2 ply", 20, 30.5, "1/2 ply"),
    ("20 1/2 x 30 3/4 birch", 20.5, 30, "birch 3/4"),
    ('20" by 30" birch 3/4', 20, 30, "birch 3/4"),
    ("23½ × 48 birch", 23.5, 48, "birch"),
    ("oak 6 ft", 72, 0, "oak"),
    ("4/4 oak 6' 3\"", 75, 0, "4/4 oak"),
    ("oak 40 long", 40, 0, "oak"),
    ("508 mm x 762mm ply 1/2", 20, 30, "1/2 ply"),
    ("quarter inch ply 10 x 10", 10, 10, "1/4 ply"),
    ("birch", 0, 0, "birch"),
    ("30 x 20", 30, 20, ""),
]


@pytest.mark.parametrize(("text", "length", "width", "words"), ASKED, ids=[a[0] for a in ASKED])
def test_what_is_asked_is_understood(
    inch_yard: Yard, text: str, length: float, width: float, words: str
) -> None:
    wanted = search.read_wanted(inch_yard, text)
    assert (wanted.length / INCH, wanted.width / INCH) == (length, width)
    assert materials.words_of(wanted.words) == materials.words_of(words)


def test_a_loose_fraction_is_a_thickness_only_where_one_is_known(inch_yard: Yard) -> None:
    wanted = search.read_wanted(inch_yard, "20 x 30 1/8 birch")
    assert (wanted.width / INCH, wanted.words) == (30.125, "birch")


@pytest.mark.parametrize("text", ["", "   ", "20 x 30 teak", "0 x 5 ply", "ply 1,200 x 3", "x" * 500])
def test_what_cannot_be_read_is_told(inch_yard: Yard, text: str) -> None:
    with pytest.raises(StockyardError):
        search.read_wanted(inch_yard, text)


@given(st.text(max_size=60) | st.from_regex(r"[0-9 ./x'\"a-z×-]{0,40}", fullmatch=True))
@settings(max_examples=300, deadline=None)
def test_any_text_is_read_or_refused_in_words(inch_yard: Yard, text: str) -> None:
    try:
        search.find(inch_yard, search.read_wanted(inch_yard, text))
    except StockyardError as error:
        assert "\n" not in str(error)


def test_the_best_fit_comes_first_with_place_and_depth(shop: Shop) -> None:
    pieces.shelve(shop.yard, [cut_off(shop.ply, 800, 520, "R1-B1"), cut_off(shop.ply, 700, 499, "R1-B1")])
    fits = search.find(shop.yard, search.read_wanted(shop.yard, "500 x 800 ply"))
    assert [f.spare // MM**2 for f in fits][:2] == [800 * 520 - 400_000, 1200 * 600 - 400_000]
    assert (fits[0].place, fits[0].turned, fits[1].place, fits[1].piece.depth) == (
        "R1-B1",
        True,
        "R1-B2-S3",
        0,
    )
    assert [f.piece.depth for f in fits[2:]] == [1, 2, 3, 4]


def test_along_the_grain_only(shop: Shop) -> None:
    wanted = search.read_wanted(shop.yard, "600 x 1200 18 ply")
    assert shop.offcut.tag in {f.piece.tag for f in search.find(shop.yard, wanted)}
    assert shop.offcut.tag not in {f.piece.tag for f in search.find(shop.yard, wanted, turn=False)}


def test_promised_pieces_are_not_offered(shop: Shop) -> None:
    plan_for(shop, shop.offcut)
    fits = search.find(shop.yard, search.read_wanted(shop.yard, "100 x 100"))
    assert shop.offcut.tag not in {f.piece.tag for f in fits}


def test_find_agrees_with_looking_at_every_piece(shop: Shop) -> None:
    sizes = [(300, 200), (900, 250), (250, 900), (640, 480), (1000, 1000), (2000, 160)]
    pieces.shelve(shop.yard, [cut_off(shop.ply, a, b) for a, b in sizes] + [full(shop.oak, 1, "R2")])
    job = add_job(shop.yard, "other")
    store(shop.yard, job.id, [layout(1, shop.sheets[1], leftovers=())])
    for length, width in [(200, 200), (600, 300), (1500, 100), (1, 1), (2440, 1220), (2441, 1)]:
        wanted = search.Wanted(length=length * MM, width=width * MM, words="", materials=None)
        fits = search.find(shop.yard, wanted, limit=1000)
        every = [
            p
            for p in pieces.on_hand(shop.yard)
            if max(p.length, p.width) >= max(length, width) * MM
            and min(p.length, p.width) >= min(length, width) * MM
        ]
        assert {f.piece.tag for f in fits} == {p.tag for p in every}
        assert [f.piece.area for f in fits] == sorted(p.area for p in every)


def test_a_material_is_named_by_its_words(shop: Shop) -> None:
    materials.add_material(shop.yard, "birch ply", Form.SHEET, "12 mm", 12 * MM, grain=True)
    assert materials.named(shop.yard, "ply 12 birch").thickness_name == "12 mm"
    with pytest.raises(StockyardError, match="birch ply 12 mm, birch ply 18 mm: say which"):
        materials.named(shop.yard, "birch")


LARGE = {"piece", "p", "o", "entry", "e", "deed", "d", "tag", "layout", "l", "cutting", "c", "cut_part"}


def test_everyday_questions_use_indexes(shop: Shop) -> None:
    """No everyday question or change reads a large table from end to end: SQLite's own plan says so."""
    seen: list[str] = []
    shop.yard.connection.set_trace_callback(seen.append)
    plan_for(shop, shop.offcut)
    search.find(shop.yard, search.read_wanted(shop.yard, "20 x 30 18 ply"))
    search.find(shop.yard, search.read_wanted(shop.yard, "20 x 30"))
    pieces.by_tag(shop.yard, shop.offcut.tag)
    pieces.at_place(shop.yard, "R2")
    pieces.move(shop.yard, [shop.sheets[0].tag], "R2")
    shop.yard.connection.set_trace_callback(None)
    asked = [s for s in seen if s.startswith(("SELECT", "WITH", "UPDATE", "DELETE FROM piece"))]
    assert len(asked) > 20
    for statement in asked:
        for *_, step in shop.yard.connection.execute("EXPLAIN QUERY PLAN " + statement):
            scan = re.fullmatch(r"SCAN (\w+)", step)
            assert scan is None or scan[1] not in LARGE, (statement, step)


def test_promised_pieces_are_found_apart(shop: Shop) -> None:
    wanted = search.read_wanted(shop.yard, "2000 x 1000 ply")
    free = {f.piece.tag for f in search.find(shop.yard, wanted)}
    assert not search.find(shop.yard, wanted, free=False)
    plan_for(shop, shop.sheets[0])
    assert [f.piece.tag for f in search.find(shop.yard, wanted, free=False)] == [shop.sheets[0].tag]
    assert {f.piece.tag for f in search.find(shop.yard, wanted)} == free - {shop.sheets[0].tag}
