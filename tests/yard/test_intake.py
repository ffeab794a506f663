"""Reading sizes, money and CSV files of pieces."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from stockyard.errors import BadInput, StockyardError
from stockyard.measure import Unit, read_size
from stockyard.planning.problem import MONEY, Kind
from stockyard.yard import intake, offers, piece_table
from stockyard.yard.intake import Lot
from tests.yard.shop import MM, SHEET, Shop, make_shop, state_of


@pytest.mark.parametrize(
    ("text", "amount"), [("58", 580_000), ("58.5", 585_000), ("58,50", 585_000), ("0", 0), ("0.0001", 1)]
)
def test_money_is_exact(text: str, amount: int) -> None:
    assert intake.read_money(text) == amount


@pytest.mark.parametrize("text", ["", "-1", "1e9", "NaN", "inf", "1.00001", "58 EUR", "1,234.50", "٣"])
def test_what_is_no_money_is_refused(text: str) -> None:
    if text == "٣":
        assert intake.read_money(text) == 3 * MONEY
    else:
        with pytest.raises(BadInput):
            intake.read_money(text)


def test_a_size_reads_along_the_grain_first() -> None:
    assert read_size("600 x 1200mm", Unit.MM) == (600 * MM, 1200 * MM)
    with pytest.raises(BadInput, match="along the grain first"):
        read_size("600", Unit.MM)


def test_a_size_on_sale_decides_the_grain_and_the_cost(shop: Shop) -> None:
    offers.add_price(shop.yard, shop.ply.id, *SHEET, 58 * MONEY)
    arrival = intake.full_arrival(shop.yard, shop.ply, "1220 x 2440", "R2", Lot())
    assert (arrival.length, arrival.width, arrival.cost) == (*SHEET, 58 * MONEY)
    assert intake.full_arrival(shop.yard, shop.ply, None, "R2", Lot()).length == SHEET[0]


def test_the_price_is_that_of_whoever_sold_it(shop: Shop) -> None:
    offers.add_price(shop.yard, shop.ply.id, *SHEET, 54 * MONEY, "Mill")
    offers.add_price(shop.yard, shop.ply.id, *SHEET, 60 * MONEY, "River Yard")
    for supplier, cost in (("river  yard", 60), ("Mill", 54), ("nobody known", 54), ("", 54)):
        for size in (None, "2440 x 1220"):
            arrival = intake.full_arrival(shop.yard, shop.ply, size, "R2", Lot(supplier=supplier))
            assert arrival.cost == cost * MONEY, supplier


def test_without_one_size_on_sale_a_size_must_be_said(shop: Shop) -> None:
    with pytest.raises(BadInput, match="none is on sale"):
        intake.full_arrival(shop.yard, shop.ply, None, "R2", Lot())


def test_the_length_of_a_board_is_its_longer_side(shop: Shop) -> None:
    assert intake.full_arrival(shop.yard, shop.oak, "150 x 2400", "R2", Lot()).length == 2400 * MM


GOOD = """material,kind,size,place,count,note
birch ply 18,full,2440 x 1220,R1-B2-S3,3,
"oak, white 4/4",offcut,"900 x 140",r2,,"'=not a formula"
"""


def test_a_file_of_pieces(shop: Shop) -> None:
    arrivals = piece_table.read_pieces(shop.yard, GOOD.encode("utf-8-sig"), "pieces.csv").arrivals
    assert [(a.kind, a.count, a.place, a.note) for a in arrivals] == [
        (Kind.FULL, 3, "R1-B2-S3", ""),
        (Kind.OFFCUT, 1, "R2", "=not a formula"),
    ]


def test_a_row_without_a_kind_is_judged_by_the_sizes_on_sale_and_told(shop: Shop) -> None:
    offers.add_price(shop.yard, shop.ply.id, *SHEET, 58 * MONEY)
    text = "material,size,place\nbirch 18,1220 x 2440,R2\nbirch 18,600 x 800,R2\nbirch 18,,R2\n"
    found = piece_table.read_pieces(shop.yard, text.encode(), "p.csv")
    assert [a.kind for a in found.arrivals] == [Kind.FULL, Kind.OFFCUT, Kind.FULL]
    assert found.judged == (
        "No kind is said, taken as full pieces: the size is on sale (line 2).",
        "No kind is said, taken as offcuts: smaller than what is on sale (line 3).",
    )
    offers.add_price(shop.yard, shop.oak.id, 2400 * MM, 150 * MM, 30 * MONEY)
    boards = "material,size,place\noak 4/4,2400 x 150,R2\noak 4/4,900 x 140,R2\n"
    assert piece_table.read_pieces(shop.yard, boards.encode(), "p.csv").judged == (
        "No kind is said, taken as boards as bought: the size is on sale (line 2).",
        "No kind is said, taken as boards left over, with no cost: smaller than what is on sale (line 3).",
    )
    said = text.replace("place", "place,kind").replace("R2", "R2,full")
    assert piece_table.read_pieces(shop.yard, said.encode(), "p.csv").judged == ()


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("birch 18,3000 x 1500,R2", "it is no smaller than what is on sale"),
        ("oak 4/4,900 x 140,R2", "no size of white oak 4/4 is on sale"),
    ],
)
def test_a_row_without_a_kind_that_nothing_judges_is_refused(shop: Shop, row: str, said: str) -> None:
    offers.add_price(shop.yard, shop.ply.id, *SHEET, 58 * MONEY)
    with pytest.raises(BadInput, match=said) as refused:
        piece_table.read_pieces(shop.yard, f"material,size,place\n{row}\n".encode(), "p.csv")
    assert "line 2" in str(refused.value) and "write full or offcut in a column kind" in str(refused.value)


def test_the_template_is_a_table_without_rows(shop: Shop) -> None:
    header = piece_table.template()
    with pytest.raises(BadInput, match="no rows under its header"):
        piece_table.read_pieces(shop.yard, header.encode(), "p.csv")
    cells = {"material": "birch 18", "kind": "offcut", "length": "600", "width": "300", "place": "R2"}
    row = ",".join(cells.get(column, "") for column in piece_table.COLUMNS)
    (arrival,) = piece_table.read_pieces(shop.yard, f"{header}{row}\r\n".encode(), "p.csv").arrivals
    assert (arrival.length, arrival.width, arrival.kind) == (600 * MM, 300 * MM, Kind.OFFCUT)


@pytest.mark.parametrize("separator", [";", "\t"])
def test_other_separators(shop: Shop, separator: str) -> None:
    text = f"Material{separator}Place{separator}length{separator}width{separator}kind\n"
    text += f"birch 18{separator}R2{separator}562,5{separator}300{separator}offcut\n"
    (arrival,) = piece_table.read_pieces(shop.yard, text.encode(), "p.csv").arrivals
    assert (arrival.length, arrival.width) == (1_800_000, 300 * MM)


def test_each_bad_row_is_named_by_its_line_and_none_is_taken(shop: Shop) -> None:
    before = state_of(shop.yard)
    text = "material,size,place,kind,count\nbirch 18,1 x 1,R2,offcut,1\nteak,1 x 1,R2,offcut,1\n"
    text += "birch 18,1 x 1,R7,offcut,1\nbirch 18,,R2,offcut,1\nbirch 18,0 x 1,R2,offcut,1\n"
    text += "birch 18,1 x 1,R2,half,1\n"
    text += "birch 18,1 x 1,R2,offcut,0\nbirch 18,1 x 1,R2,offcut,1,extra\n"
    with pytest.raises(BadInput) as refused:
        piece_table.read_pieces(shop.yard, text.encode(), "p.csv")
    lines = str(refused.value).splitlines()
    assert lines[0] == "p.csv: nothing was shelved, 7 rows are wrong"
    assert [line.split(":")[0].strip() for line in lines[1:]] == [f"line {n}" for n in range(3, 10)]
    assert state_of(shop.yard) == before


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "no column 'material'"),
        (b"material\n", "no column 'place'"),
        (b"material,place,colour\n", "'colour' is no column"),
        (b"material,place,place\n", "twice"),
        (b"material,place\n", "no rows"),
        (b"\xff\xfe\x00", "not UTF-8"),
        (b'material,place\n"birch,R2\n', "line"),
    ],
)
def test_a_file_that_cannot_be_read_says_why(shop: Shop, content: bytes, said: str) -> None:
    with pytest.raises(BadInput, match=said):
        piece_table.read_pieces(shop.yard, content, "p.csv")


@settings(max_examples=200, deadline=None)
@example(content=b"material,place,size\nbirch 18,R2,{")
@example(content=b"material,place,size\nbirch 18,R2,{0}")
@given(
    st.binary(max_size=300)
    | st.text(alphabet="material,place;size\t\n\"'x1290 /RB-½=", max_size=200).map(str.encode)
    | st.text(max_size=80).map(
        lambda t: f"material,place,size,kind\nbirch 18,R2,{t},offcut".encode("utf-8", "replace")
    )
)
def test_any_bytes_are_read_or_refused_in_words(csv_shop: Shop, content: bytes) -> None:
    with suppress(StockyardError):
        piece_table.read_pieces(csv_shop.yard, content, "p.csv")


@pytest.fixture(scope="module")
def csv_shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    made = make_shop(tmp_path_factory.mktemp("csv") / "yard.db")
    yield made
    made.yard.close()


@pytest.mark.parametrize(
    ("text", "currency", "amount"),
    [
        ("$89.99", "$", 899_900), ("$89.99", "USD", 899_900), ("58,50 €", "EUR", 585_000),
        ("12 kr", "kr", 120_000), ("CHF 7", "CHF", 70_000), ("58", "EUR", 580_000),
    ],
)  # fmt: skip
def test_money_is_read_with_the_shops_own_sign(text: str, currency: str, amount: int) -> None:
    assert intake.read_money(text, currency) == amount


def test_anothers_sign_is_no_money() -> None:
    with pytest.raises(BadInput, match="not an amount"):
        intake.read_money("£5", "USD")


def test_weights_are_read_in_either_unit() -> None:
    # 1 lb is exactly 0.45359237 kg (NIST SP 811, Appendix B).
    assert intake.read_weight("1000 lb", Unit.MM) == intake.read_weight("1000", Unit.INCH) == 453_592
    assert intake.read_weight("450", Unit.MM) == intake.read_weight("450kg", Unit.INCH) == 450_000
    for wrong in ("0", "-5", "1e3", "nan", "5 stone", "", "500000 kg"):
        with pytest.raises(BadInput):
            intake.read_weight(wrong, Unit.MM)


@pytest.mark.parametrize(
    ("text", "unit", "grams"),
    [
        ("450 kg", Unit.MM, 450_000), ("450", Unit.MM, 450_000), ("1.5 kilos", Unit.INCH, 1_500),
        ("1000 lb", Unit.MM, 453_592), ("1000", Unit.INCH, 453_592), ("1 pound", Unit.MM, 454),
        (" 2 LBS. ", Unit.MM, 907),
    ],
)  # fmt: skip
def test_a_weight_is_read_in_kilograms_or_pounds(text: str, unit: Unit, grams: int) -> None:
    """A pound is 453.59237 g (NIST Special Publication 811)."""
    assert intake.read_weight(text, unit) == grams


@pytest.mark.parametrize(
    ("text", "shown"), [("heavy", "heavy"), ("5 stone", "5 stone"), ("x" * 31, "x" * 30), ("0 kg", "0 kg")]
)
def test_what_is_no_weight_is_shown_as_far_as_a_line_holds_it(text: str, shown: str) -> None:
    with pytest.raises(BadInput) as caught:
        intake.read_weight(text, Unit.MM)
    assert str(caught.value).startswith(f"'{shown}' is not a weight")


def test_a_rack_may_be_rated_to_the_last_gram_that_is_kept() -> None:
    most = intake.MOST_GRAMS // 1000
    assert intake.read_weight(f"{most} kg", Unit.MM) == intake.MOST_GRAMS
    with pytest.raises(BadInput, match="not a weight of a rack"):
        intake.read_weight(f"{most + 1} kg", Unit.MM)
