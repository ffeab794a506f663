"""Problem files: what is read, what is refused and in which words, and how plans are written."""

from __future__ import annotations

import json
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from stockyard.effort import Effort
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit, decimal
from stockyard.planning.files import MOST_STOCK_ROWS, read_problem
from stockyard.planning.json_rows import LARGEST_FILE
from stockyard.planning.plan import Bound, Status
from stockyard.planning.problem import NO_TRIM, Grain, Kind, Method, Problem, Trim
from stockyard.planning.worth import Worth
from stockyard.planning.written import plan_data, plan_text, write_json
from tests.planning.trees import job, plan

MM, INCH = TICKS_PER_MM, TICKS_PER_INCH

EXAMPLE: dict[str, Any] = {
    "unit": "mm", "kerf": 3, "edge_trim": 0, "method": "saw", "keep": {"short_side": 150, "area": 90000},
    "stock": [{"id": "K7Q3", "kind": "offcut", "material": "birch ply", "thickness": 18, "length": 1180,
               "width": 610, "count": 1, "cost": 0, "grain": True, "dig": 2}],
    "parts": [{"id": "side", "length": 720, "width": 560, "thickness": 18, "material": ["birch ply"],
               "count": 2, "grain": "along", "priority": 0}],
}  # fmt: skip


def read(**changes: Any) -> Problem:
    return read_problem(json.dumps({**EXAMPLE, **changes}))[0]


def stock(**changes: Any) -> dict[str, Any]:
    return {"stock": [{**EXAMPLE["stock"][0], **changes}]}


def part(**changes: Any) -> dict[str, Any]:
    return {"parts": [{**EXAMPLE["parts"][0], **changes}]}


def test_the_example_of_the_contract() -> None:
    problem, notes = read_problem(json.dumps(EXAMPLE))
    assert notes == ()
    assert (problem.unit, problem.kerf, problem.method) == (Unit.MM, 3 * MM, Method.SAW)
    assert problem.worth == Worth(keep_short_side=150 * MM, keep_area=90_000 * MM**2)
    [piece], [wanted] = problem.stock, problem.parts
    assert (piece.id, piece.kind, piece.material, piece.count) == ("K7Q3", Kind.OFFCUT, "birch ply", 1)
    assert (piece.length, piece.width, piece.thickness) == (1180 * MM, 610 * MM, 18 * MM)
    assert (piece.cost, piece.grain, piece.dig, piece.edge_trim) == (0, True, 2, NO_TRIM)
    assert (wanted.id, wanted.length, wanted.width, wanted.count) == ("side", 720 * MM, 560 * MM, 2)
    assert (wanted.materials, wanted.grain, wanted.priority) == (("birch ply",), Grain.ALONG, 0)


@pytest.mark.parametrize(
    ("value", "unit", "ticks"),
    [
        ("23 1/2", "in", 23.5 * INCH),
        ("23 1/2", "mm", 23.5 * MM),
        ("600 mm", "in", 600 * MM),
        ("2 ft", "mm", 24 * INCH),
        (0.1, "mm", MM / 10),
        (11.25, "in", 11.25 * INCH),
    ],
)
def test_lengths_are_numbers_or_words_in_any_unit(value: Any, unit: str, ticks: float) -> None:
    assert read(unit=unit, **part(length=value)).parts[0].length == ticks


def test_decimals_are_exact() -> None:
    """0.07 and 1.1 have no exact binary form; 0.01 mm is 32 steps."""
    assert read(kerf=0.07).kerf == 7 * 32
    assert read(**stock(cost=1.1)).stock[0].cost == 11_000


def test_edge_trim_of_the_file_holds_for_full_pieces_unless_the_row_says_otherwise() -> None:
    full = {**EXAMPLE["stock"][0], "kind": "full"}
    rows = [
        {**full, "id": "a"},
        {**full, "id": "b", "edge_trim": 1},
        {**EXAMPLE["stock"][0], "id": "c"},
        {**EXAMPLE["stock"][0], "id": "d", "edge_trim": 2},
    ]
    trims = [s.edge_trim for s in read(edge_trim=6, stock=rows).stock]
    assert trims == [Trim.all_round(n * MM) for n in (6, 1, 0, 2)]


def test_what_is_left_out_has_a_usual_value() -> None:
    bare = {
        "stock": [{"id": "s", "kind": "full", "material": "ply", "length": 9, "width": 9}],
        "parts": [{"id": "p", "length": 1, "width": 1}],
    }
    problem, _ = read_problem(json.dumps(bare))
    assert problem == Problem(stock=problem.stock, parts=problem.parts)
    assert (problem.stock[0].count, problem.stock[0].cost, problem.stock[0].thickness) == (1, 0, None)
    assert (problem.parts[0].count, problem.parts[0].materials, problem.parts[0].grain) == (
        1,
        None,
        Grain.ALONG,
    )


def test_no_end_of_stock_and_any_material() -> None:
    assert read(**stock(count=None)).stock[0].count is None
    assert read(**part(material=None)).parts[0].materials is None
    assert read(**part(material="MDF")).parts[0].materials == ("MDF",)


def test_a_trim_that_leaves_nothing_is_no_error() -> None:
    assert read(**stock(edge_trim=400)).stock[0].edge_trim == Trim.all_round(400 * MM)


def test_unknown_keys_are_noted() -> None:
    _, notes = read_problem(json.dumps({**EXAMPLE, "colour": 1, **part(edge="1L")}))
    assert notes == ("parts: 'edge' is not known and ignored", "'colour' is not known and ignored")


BAD = [
    ({"unit": "ft"}, "unit: 'ft' must be mm or in"),
    ({"kerf": -1}, "kerf: '-1' must be 0 or more"),
    ({"kerf": "wide"}, "kerf: 'wide' is not a length"),
    ({"edge_trim": [3]}, "edge_trim: '[...]' must be a length"),
    ({"method": "laser"}, "method: 'laser' must be saw or router"),
    ({"keep": 5}, "keep: '5' must be an object in braces"),
    ({"keep": {"area": -1}}, "keep.area: '-1' must be 0 or more"),
    ({"stock": {}}, "stock: '{}' must be a list"),
    ({"parts": None}, "parts: 'null' must be a list"),
    ({"parts": [7]}, "parts[0]: '7' must be an object in braces"),
    (stock(kind="scrap"), "stock[0].kind: 'scrap' must be full or offcut"),
    (stock(length="-5"), "stock[0].length: '-5' must be more than 0"),
    (stock(length=0), "stock[0].length: '0' must be more than 0"),
    (stock(length=100_001), "stock[0].length: '100001' is longer than 100 m: is the unit right?"),
    (stock(width=True), "stock[0].width: 'true' must be a length"),
    (stock(width=None), "stock[0].width: 'null' must be a length"),
    (stock(count=-1), "stock[0].count: '-1' must be 0 or more"),
    (stock(count=1.5), "stock[0].count: '1.5' must be a whole number"),
    (stock(cost=0.00001), "stock[0].cost: '0.00001' has more than 4 places"),
    (stock(cost=-2), "stock[0].cost: '-2' must be 0 or more"),
    (stock(grain="yes"), "stock[0].grain: 'yes' must be true or false"),
    (stock(id=""), "stock[0].id: '' must be a word"),
    (stock(id="a\nb"), "stock[0].id: 'a?b' must be one line of at most 200 characters"),
    (stock(dig=-1), "stock[0].dig: '-1' must be 0 or more"),
    (stock(edge_trim="-1/8"), "stock[0].edge_trim: '-1/8' must be 0 or more"),
    (part(count=0), "parts[0].count: '0' must be more than 0"),
    (part(count=1_000_000_000), "parts[0].count: '1000000000' makes more than 100000 parts in all"),
    (part(count=10**12), "parts[0].count: '1000000000000' must be at most 1000000000"),
    (part(length="1,200"), "parts[0].length: '1,200' may be 1200 or 1.200: write it without a comma"),
    (part(grain="up"), "parts[0].grain: 'up' must be along or across or any"),
    (part(material=[]), "parts[0].material: '[]' must be null, a name or a list of names"),
    (part(material=["oak", 3]), "parts[0].material: '[...]' must be null, a name or a list of names"),
    (part(thickness=0), "parts[0].thickness: '0' must be more than 0"),
    (part(priority="high"), "parts[0].priority: 'high' must be a whole number"),
    ({"parts": [{"id": "a"}]}, "parts[0].length: missing"),
    (stock() | {"stock": [EXAMPLE["stock"][0]] * 2}, "stock[1].id: 'K7Q3' is already used by stock[0]"),
    ({"parts": [EXAMPLE["parts"][0]] * 2}, "parts[1].id: 'side' is already used by parts[0]"),
]  # fmt: skip


@pytest.mark.parametrize(("changes", "words"), BAD)
def test_a_wrong_field_is_named_with_its_value(changes: dict[str, Any], words: str) -> None:
    with pytest.raises(BadInput) as caught:
        read(**changes)
    assert str(caught.value) == words


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "the file is not JSON: line 1, column 1: Expecting value"),
        (b"\x89PNG\r\n\x1a\n\x00\xff", "the file is not text: byte 0 is not UTF-8"),
        (b"PK\x03\x04", "the file is not JSON: line 1, column 1: Expecting value"),
        (b"[" * 200_000, "the file is not a problem: its brackets are nested too deeply"),
        (b'{"a":' * 200_000, "the file is not a problem: its brackets are nested too deeply"),
        (b"[]", "the file: '[]' must be an object in braces"),
        (b'{"unit": "mm", "unit": "in"}', "the key 'unit' stands twice in one object"),
        (b'{"kerf": NaN}', "kerf: 'NaN' is not a length"),
        (b'{"kerf": -Infinity}', "kerf: '-Infinity' is not a length"),
        (b'{"kerf": 1e999999999999999999999}', "kerf: '1e999999999999999999999' is not a length"),
        (b'{"kerf": 1e-999999}', "kerf: '1e-999999' is not a length"),
        (b'{"kerf": ' + b"9" * 100_000 + b"}", f"kerf: '{'9' * 40}...' is too long for a length"),
        (b" " * (LARGEST_FILE + 1), "the file is larger than 20 MB: is it a problem file?"),
        (b'{"parts": [], "stock": [' + b"1," * MOST_STOCK_ROWS + b"1]}", "stock: 50001 rows, at most 50000"),
    ],
)
def test_what_is_no_problem_file_is_refused_in_one_line(data: bytes, words: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_problem(data)
    assert str(caught.value) == words


def test_a_byte_order_mark_is_no_matter() -> None:
    assert read_problem(b"\xef\xbb\xbf" + json.dumps(EXAMPLE).encode())[0] == read()


VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12)
    | st.sampled_from(["mm", "in", "1/2", "-3", "full", "any", "1e400", "0"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)  # fmt: skip


@settings(max_examples=400, deadline=None)
@given(st.data())
def test_any_value_anywhere_is_read_or_refused(data: st.DataObject) -> None:
    """No field can hold anything that ends in a traceback, and the refusal is one line."""
    problem = json.loads(json.dumps(EXAMPLE))
    where = data.draw(st.sampled_from([problem, problem["keep"], problem["stock"][0], problem["parts"][0]]))
    where[data.draw(st.sampled_from(sorted(where)))] = data.draw(VALUES)
    try:
        read_problem(json.dumps(problem))
    except BadInput as e:
        assert "\n" not in str(e)
        assert len(str(e)) < 400


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=200) | st.text(max_size=200))
def test_any_bytes_are_refused(data: bytes | str) -> None:
    with pytest.raises(BadInput):
        read_problem(data)


def numbers(value: Any) -> Any:
    return json.loads(value, parse_float=Fraction, parse_int=Fraction)


@pytest.mark.parametrize("unit", list(Unit))
def test_a_plan_is_written_with_every_figure_exact(unit: Unit) -> None:
    per = {Unit.MM: MM, Unit.INCH: INCH}[unit]
    for seed in range(25):
        problem, patterns = job(seed)
        problem = Problem(
            stock=problem.stock, parts=problem.parts, unit=unit, kerf=problem.kerf, worth=problem.worth
        )
        made = plan(problem, patterns)
        read_back = numbers(plan_text(problem, made))
        assert read_back["contract"] == "stockyard/plan/1"
        for layout, row in zip(made.layouts, read_back["layouts"], strict=True):
            for p, written in zip(layout.parts, row["parts"], strict=True):
                ticks = [round(written[k] * per) for k in ("x", "y", "dx", "dy")]
                assert ticks == [p.x, p.y, p.dx, p.dy]
            for c, written in zip(layout.cuts, row["cuts"], strict=True):
                assert [round(written["at"] * per), round(written["fence"] * per)] == [c.at, c.fence]
                assert (written["step"], written["piece"], written["direction"]) == (
                    c.step,
                    c.piece,
                    c.direction,
                )
                assert tuple(written["gives"]) == c.gives
            for f, written in zip(layout.leftovers, row["leftovers"], strict=True):
                assert [round(written[k] * per) for k in ("x", "y", "dx", "dy")] == [f.x, f.y, f.dx, f.dy]


def test_money_and_areas_are_exact_decimals() -> None:
    problem, patterns = job(1)
    made = plan(problem, patterns)
    bound = Bound(581_234, 7 * MM**2 // 4, 'one sheet, "whatever" you do')
    data = plan_data(problem, type(made)(status=Status.FEASIBLE, bound=bound, layouts=made.layouts))
    assert data["bound"] == {
        "full_cost": Decimal("58.1234"),
        "stock_area": Decimal("1.75"),
        "says": bound.says,
    }
    assert numbers(write_json(data))["bound"]["says"] == bound.says


@given(st.integers(1, 10**8), st.sampled_from(list(Unit)))
def test_a_written_length_is_never_in_powers_of_ten(ticks: int, unit: Unit) -> None:
    assert "E" not in write_json(decimal(ticks, unit)).upper()


@pytest.mark.parametrize("path", ["edge_trim", "keep.area"])
def test_a_value_of_two_lines_is_refused_in_one(path: str) -> None:
    problem: dict[str, Any] = {"unit": "mm", "stock": [], "parts": [], "keep": {"short_side": 1, "area": 1}}
    *outer, key = path.split(".")
    (problem[outer[0]] if outer else problem)[key] = "0\n0"
    with pytest.raises(BadInput) as refused:
        read_problem(json.dumps(problem))
    assert "\n" not in str(refused.value)


def test_edge_trims_may_differ_from_edge_to_edge() -> None:
    row = {**EXAMPLE["stock"][0], "kind": "full"}
    rows = [
        {**row, "id": "a", "edge_trim": {"ends": 10, "sides": 2}},
        {**row, "id": "b", "edge_trim": {"x_low": 1, "y_high": "4 mm"}},
        {**row, "id": "c", "edge_trim": {"ends": 10, "x_high": 0}},
    ]
    trims = [s.edge_trim for s in read(edge_trim=6, stock=rows).stock]
    assert trims == [
        Trim(10 * MM, 10 * MM, 2 * MM, 2 * MM),
        Trim(x_low=MM, y_high=4 * MM),
        Trim(x_low=10 * MM),
    ]
    with pytest.raises(BadInput, match=r"stock\[0\].edge_trim.ends: '-1' must be 0 or more"):
        read(**stock(edge_trim={"ends": -1}))


def test_effort_is_read_as_areas_and_has_usual_values() -> None:
    given = read(effort={"fence": 1500, "rest": "2.5"}).effort
    assert (given.fence, given.rest) == (1500 * MM * MM, 5 * MM * MM // 2)
    assert (given.pull, given.dig, given.cut) == (Effort().pull, Effort().dig, Effort().cut)
    assert read().effort == Effort()
    with pytest.raises(BadInput, match=r"effort.cut: '-3' must be 0 or more"):
        read(effort={"cut": -3})
