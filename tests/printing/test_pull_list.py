"""The pull list as printed: read back from the PDF."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pypdfium2 as pdfium
import pytest
from pypdf import PdfReader

from stockyard import figures
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Unit
from stockyard.printing.fonts import MissingGlyph
from stockyard.printing.page import SIZES
from stockyard.printing.papers import BandLine, BuyLine, PullList, Stop
from stockyard.printing.pull_lines import NOTHING
from stockyard.printing.pull_list import pull_list_pdf
from tests.printing.samples import lift, normal_pull_list, random_pull_list
from tests.printing.sheets_of_paper import Letter, fonts_not_embedded, pages, text_of


def check(data: bytes, size: str) -> None:
    for page in pages(data):
        assert (page.width, page.height) == pytest.approx(SIZES[size], abs=0.01)
        assert page.letters
        assert not page.overlaps()
        assert not page.outside()


@pytest.mark.parametrize("seed", range(50))
def test_nothing_overlaps_or_leaves_the_page(seed: int) -> None:
    size = "a4" if seed % 2 else "letter"
    check(pull_list_pdf(random_pull_list(seed, 1 + seed % 25), size), size)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(50, 550))
def test_nothing_overlaps_or_leaves_the_page_in_many_jobs(seed: int) -> None:
    size = "a4" if seed % 2 else "letter"
    check(pull_list_pdf(random_pull_list(seed, 1 + seed % 60), size), size)


@pytest.mark.parametrize("size", SIZES)
def test_a_normal_job_is_one_page(size: str) -> None:
    assert len(text_of(pull_list_pdf(normal_pull_list(), size))) == 1


@pytest.mark.parametrize("seed", range(8))
def test_it_reads_in_walking_order_and_from_the_top_down(seed: int) -> None:
    walk = random_pull_list(seed, 25)
    text = " ".join(text_of(pull_list_pdf(walk)))
    for stop in walk.stops:
        text = text[text.index(stop.place) :]
        for entry in stop.entries:
            for lying in entry.on_top:
                text = text[text.index(lying.tag) :]
            text = text[text.index(entry.tag) :]
    for line in walk.buy:
        text = text[text.index(f"{line.count} × {line.material}") :]
    assert "come before this paper" in text


def test_what_lies_on_top_comes_off_first_and_goes_back() -> None:
    (text,) = text_of(pull_list_pdf(normal_pull_list()))
    for words in ("FIRST LIFT OFF 2, from the top down:", "(each 72 lb: two people", "Put back on top"):
        text = text[text.index(words) :]


def test_a_place_that_goes_on_is_named_again() -> None:
    walk = random_pull_list(0, 3)
    stop = walk.stops[0]
    long = replace(walk, stops=(replace(stop, place="Q9-9", entries=stop.entries * 12, put_back=""),))
    texts = text_of(pull_list_pdf(long))
    assert len(texts) > 1
    assert all("Q9-9" in text for text in texts[:2])
    check(pull_list_pdf(long), "letter")


def test_the_codes_beside_the_tags_are_read() -> None:
    zxingcpp = pytest.importorskip("zxingcpp")
    walk = normal_pull_list()
    page = pdfium.PdfDocument(BytesIO(pull_list_pdf(walk)))[0]
    # A plain office printer: 300 dots to the inch.
    found = {code.text for code in zxingcpp.read_barcodes(page.render(scale=300 / 72).to_pil().convert("L"))}
    assert found == {entry.tag for stop in walk.stops for entry in stop.entries}


def test_weights_are_in_the_yards_units() -> None:
    # 72 lb: a 4 x 8 ft sheet of 3/4 in softwood plywood at 3 lb a square foot and inch (APA).
    assert figures.weight(32_659, Unit.INCH) == "72 lb"
    assert figures.weight(32_659, Unit.MM) == "33 kg"
    assert figures.weight(2_400, Unit.MM) == "2.4 kg"


def test_several_sources_are_numbered() -> None:
    walk = normal_pull_list()
    stop = walk.stops[0]
    other = replace(lift(12), source="the maker's sheet")
    mixed = replace(stop, entries=(replace(stop.entries[0], lift=other), *stop.entries[1:]))
    text = " ".join(text_of(pull_list_pdf(replace(walk, stops=(mixed, *walk.stops[1:])))))
    assert "(1) Lifting advice after the maker's sheet." in text
    assert "(2) Lifting advice after HSE L23 guide figures." in text
    assert f"{other.advice} (1)" in text and f"{stop.entries[1].lift.advice} (2)" in text
    assert "(1)" not in text_of(pull_list_pdf(walk))[0]


def test_as_many_people_stand_beside_a_weight_as_lift_it() -> None:
    """They stand on the line of the weight: their feet at its foot, none above the row."""
    walk = normal_pull_list()
    two = lift(30)
    entry = replace(walk.stops[0].entries[0], lift=two, on_top=())
    for entries in ((entry,), (replace(entry, lift=replace(two, people=1)),)):
        data = pull_list_pdf(
            replace(walk, stops=(Stop(place="Z1", storage="brackets", entries=entries),), buy=())
        )
        (page,) = pages(data)
        weight = starting(page.letters, figures.weight(two.weight or 0, Unit.INCH).replace(" ", ""))[-1]
        beside = [
            b
            for b in round_shapes(data)
            if weight.y0 - 4 < b[1] and b[3] < weight.y0 + 14 and b[0] > weight.x0
        ]
        assert len(beside) == 2 * (entries[0].lift.people or 0)  # a head and a body each


def round_shapes(data: bytes) -> list[tuple[float, float, float, float]]:
    """Return the boxes of what is drawn black with curves on the first page."""
    page = pdfium.PdfDocument(BytesIO(data))[0]
    paths = page.get_objects(filter=[pdfium.raw.FPDF_PAGEOBJ_PATH])
    return [thing.get_bounds() for thing in paths if is_round(thing)]


def is_round(path: pdfium.PdfObject) -> bool:
    """Whether a path has a curve in it."""
    raw = pdfium.raw
    parts = range(raw.FPDFPath_CountSegments(path.raw))
    kinds = {raw.FPDFPathSegment_GetType(raw.FPDFPath_GetPathSegment(path.raw, n)) for n in parts}
    return raw.FPDF_SEGMENT_BEZIERTO in kinds


def test_a_piece_of_unknown_weight_says_so() -> None:
    walk = normal_pull_list()
    stop = walk.stops[0]
    unknown = replace(lift(12), weight=None, people=None, advice="weigh one", source="")
    mixed = Stop(place="Z1", storage="brackets", entries=(replace(stop.entries[0], lift=unknown),))
    (text,) = text_of(pull_list_pdf(replace(walk, stops=(mixed,))))
    assert "not weighed" in text
    assert "0.0 lb to carry, 1 not weighed" in text


def test_an_empty_walk_is_still_a_page() -> None:
    walk = PullList(job="All at the saw", date="2026-11-24", unit=Unit.MM, stops=())
    data = pull_list_pdf(walk)
    (text,) = text_of(data)
    assert "0 pieces from 0 places" in text
    assert NOTHING in text
    page = pdfium.PdfDocument(BytesIO(data))[0]
    (rule,) = page.get_objects(filter=[pdfium.raw.FPDF_PAGEOBJ_PATH])
    left, bottom, right, top = rule.get_bounds()
    assert right - left > 100 * (top - bottom), "no line is walked, there is only the one under the head"


def test_typefaces_are_carried_and_the_same_input_gives_the_same_bytes() -> None:
    data = pull_list_pdf(normal_pull_list())
    assert fonts_not_embedded(data) == set()
    assert pull_list_pdf(normal_pull_list()) == data


def test_a_name_that_cannot_be_printed_is_named() -> None:
    with pytest.raises(MissingGlyph, match=r"U\+68DA"):
        pull_list_pdf(replace(normal_pull_list(), job="棚"))


@pytest.mark.parametrize("size", SIZES)
def test_long_names_stay_in_their_columns(size: str) -> None:
    walk = normal_pull_list()
    entries = tuple(
        replace(entry, material="sapele, quarter sawn, from the barn sale in the spring, second best 12/4")
        for entry in walk.stops[0].entries
    )
    stop = replace(walk.stops[0], place="NORTHBARN.12-LOFT.0123456-SLOT.012345", entries=entries)
    job = "Refectory tables, benches and the long sideboard for the school by the lake shore"
    check(pull_list_pdf(replace(walk, job=job, stops=(stop, *walk.stops[1:])), size), size)


@pytest.mark.parametrize("stem", ["birch " + "p" * n for n in range(8, 24)])
def test_a_thickness_keeps_its_unit(stem: str) -> None:
    """Wherever a line ends, 18 and mm stand in one."""
    walk = replace(normal_pull_list(), unit=Unit.MM)
    stop = walk.stops[0]
    entry = replace(stop.entries[0], material=f"{stem} 18 mm", full=True, tell_apart=stem, thickness=18 * MM)
    made = pull_list_pdf(replace(walk, stops=(replace(stop, entries=(entry,)),)))
    lines = PdfReader(BytesIO(made)).pages[0].extract_text().splitlines()
    assert not [line for line in lines if line.startswith("mm")]
    assert sum("18 mm" in line for line in lines) == 2


@pytest.mark.parametrize("stem", ["birch " + "p" * n for n in range(8, 24)])
def test_a_fraction_keeps_to_its_inches(stem: str) -> None:
    walk = normal_pull_list()
    stop = walk.stops[0]
    told = f"not {stem}, which is 16 11/16 × 27 1/4, nor the other, which is 19 1/4 × 8 3/8"
    entry = replace(stop.entries[0], tell_apart=told)
    made = pull_list_pdf(replace(walk, stops=(replace(stop, entries=(entry,)),)))
    text = PdfReader(BytesIO(made)).pages[0].extract_text()
    assert all(figure in text for figure in ("16 11/16", "27 1/4", "19 1/4", "8 3/8"))


def test_band_things_to_buy_and_long_orders_take_the_lines_they_need() -> None:
    """Nothing runs into what comes below it, and words to tick stand under one another."""
    walk = normal_pull_list()
    back = "Put back on top in this order: " + ", ".join(f"S{n}-Q7" for n in range(3000, 3060)) + "."
    long = "two-colour veneered edge band with a very long name, " * 4
    bands = tuple(BandLine(what=f"{long}{n}", length=12_340 * MM, width=23 * MM) for n in range(3))
    buy = tuple(BuyLine(count=n, material=long, length=2440 * MM, width=1220 * MM) for n in (1, 2, 3))
    stops = tuple(replace(stop, put_back=back) for stop in walk.stops)
    made = pull_list_pdf(replace(walk, unit=Unit.MM, stops=stops, buy=buy, bands=bands))
    check(made, "letter")
    assert " ".join(text_of(made)).count("12.4 m of two-colour") == 3  # 12.34 m, rounded up to a tenth
    starts = {
        round(one.x0) for page in pages(made) for one in starting(page.letters, "12.4mof", "1×two", "Putback")
    }
    assert len(starts) <= 2 and max(starts) - min(starts) <= 1  # a 1 has more room before it than a P


def starting(letters: tuple[Letter, ...], *words: str) -> list[Letter]:
    """Return the first letter of each place where one of these words stands, without blanks."""
    text = "".join(one.text for one in letters)
    found = [at for word in words for at in range(len(text)) if text.startswith(word, at)]
    return [letters[at] for at in found]
