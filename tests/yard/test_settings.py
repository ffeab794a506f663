"""A shop's settings: read, bounded, written back as they were."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard import yard
from stockyard.effort import Seconds
from stockyard.errors import BadInput, Refused
from stockyard.measure import TICKS_PER_INCH, Unit
from stockyard.settings import Settings, change, inch_shop, names
from stockyard.settings_said import EFFECTS, called
from stockyard.settings_text import show_value, write_value
from tests.yard.shop import MM, Shop


@pytest.mark.parametrize("start", [Settings(), inch_shop()], ids=["mm", "inch"])
def test_every_setting_reads_back_as_it_is_written(start: Settings) -> None:
    for name in names():
        text = write_value(name, getattr(start, name), start.unit)
        assert getattr(change(start, {name: text}), name) == getattr(start, name), (name, text)


@given(st.integers(0, 30 * MM), st.sampled_from(Unit))
def test_a_length_reads_back_to_the_tick(ticks: int, unit: Unit) -> None:
    assert change(Settings(), {"kerf": write_value("kerf", ticks, unit)}).kerf == ticks


@given(st.integers(0, 10**12), st.sampled_from(Unit))
def test_an_area_reads_back_to_the_square_tick(area: int, unit: Unit) -> None:
    assert change(Settings(), {"keep_area": write_value("keep_area", area, unit)}).keep_area == area


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("kerf", "-1"), ("kerf", "31"), ("kerf", "thin"), ("unit", "cubit"), ("paper", "a3"), ("fence", "24"),
        ("currency", "=1+1"), ("label", "../x"), ("printer_dpi", "50"), ("plan_seconds", "0"),
        ("keep_days", "1e3"), ("keep_area", "100 m²"), ("backups", "0"), ("label_right", "60"),
        ("colour", "red"), ("small_worth", "1001"),
    ],
)  # fmt: skip
def test_what_is_out_of_bounds_is_named(name: str, text: str) -> None:
    with pytest.raises(BadInput, match=name.split("_")[0]):
        change(Settings(), {name: text})


# What a shop may set at least and at most, as a person writes it.
BOUNDS = """
kerf 0 30 mm | edge_trim 0 100 mm | keep_short_side 0 2000 mm | keep_area 0 10 m² | whole_area 1 mm² 100 m²
keep_board_width 0 1000 mm | keep_board_length 0 5000 mm | keep_floor 0 1000 | pull_area 0 10 m²
board_end_trim 0 100 mm | band_trim 0 20 mm | band_over 0 500 mm | batch_spread 0 5 mm | saw_length 0 200 mm
saw_width 0 100 mm | jointer_width 0 100 mm | jointer_face 0 25 mm | planer_length 0 200 mm
planer_face 0 25 mm | joint_edge 0 100 mm | hour_worth 0 100000 | pull_seconds 0 3600 | dig_seconds 0 3600
fence_seconds 0 3600 | cut_seconds 0 3600 | heavy_seconds 0 3600 | rest_seconds 0 3600 | path_seconds 0 3600
one_pass 0 1 | change_seconds 0 36000 | rip_width 0 10000 mm | stop_length 0 10000 mm
stop_reach 0 10000 mm | guide_length 0 10000 mm | one_person 100 mm 10000 mm | one_saw 0 1 | bench 1 1000
bit 0.1 mm 50 mm | bit_margin 0 100 mm | table_edge 0 500 mm | tab_width 0.1 mm 100 mm
tab_under 0 5000 mm | tab_inside 0 5000 mm | label_right -50 mm 50 mm | label_down -50 mm 50 mm
printer_dpi 100 2400 | plan_seconds 1 3600 | wait_worth 0 1000 | keep_days 1 3650 | count_days 0 3650
backups 1 1000
"""


def bounds() -> list[tuple[str, int, int]]:
    """Return each setting with bounds, and these in its own ticks, square ticks or plain numbers."""
    found = []
    for row in BOUNDS.replace("\n", "|").split("|"):
        if row.strip():
            name, *words = row.split()
            figures = [w for w in words if w[0] in "-0123456789"]
            units = [w for w in words if w not in figures]
            sides = {"mm": MM, "mm²": MM * MM, "m²": (1000 * MM) ** 2}
            each = [sides[u] for u in units] or [1]
            low, high = (round(float(f) * side) for f, side in zip(figures, (each[0], each[-1]), strict=True))
            found.append((name, low, high))
    return found


def test_each_setting_may_be_its_least_and_its_most_and_no_more() -> None:
    wide = replace(Settings(), whole_area=100 * (1000 * MM) ** 2, keep_area=0)
    assert len(bounds()) == 51
    for name, low, high in bounds():
        for value in (low, high):
            assert getattr(replace(wide, **{name: value}), name) == value
        for value in (low - 1, high + 1):
            with pytest.raises(BadInput, match=f"^{called(name)} is .*: it must be from "):
                replace(wide, **{name: value})


def test_what_is_kept_may_be_worth_all_but_not_more() -> None:
    assert replace(Settings(), whole_area=MM * MM, keep_area=MM * MM).keep_area == MM * MM
    with pytest.raises(BadInput, match="keep_area is more than whole_area"):
        replace(Settings(), whole_area=MM * MM, keep_area=MM * MM + 1)


@pytest.mark.parametrize(
    ("text", "unit", "mm2"),
    [
        # A foot is 304.8 mm, an inch 25.4 mm (international yard, 1959).
        ("0.5 m²", Unit.MM, "500000"), ("90000", Unit.MM, "90000"), ("90000 mm^2", Unit.INCH, "90000"),
        ("100", Unit.INCH, "64516"), ("100 in²", Unit.MM, "64516"), ("10 ft²", Unit.MM, "929030.4"),
    ],
)  # fmt: skip
def test_an_area_may_be_given_in_any_unit(text: str, unit: Unit, mm2: str) -> None:
    assert change(Settings(unit=unit), {"pull_area": text}).pull_area == round(float(mm2) * MM * MM)


def test_a_negative_nudge_is_read() -> None:
    assert change(Settings(), {"label_down": "-1.5"}).label_down == -1.5 * MM


def test_settings_are_kept_in_the_yard_and_in_the_ledger(shop: Shop) -> None:
    wanted = change(shop.yard.settings, {"kerf": "3.2", "paper": "letter"})
    yard.change_settings(shop.yard, wanted)
    with yard.open(shop.yard.path) as again:
        assert again.settings == wanted
    with pytest.raises(Refused, match="already"):
        yard.change_settings(shop.yard, wanted)


@given(st.dictionaries(st.sampled_from(names()), st.text(max_size=20), max_size=3))
def test_any_text_is_read_or_refused_in_words(given_: dict[str, str]) -> None:
    try:
        change(Settings(), given_)
    except BadInput as error:
        assert "\n" not in str(error).replace(str(given_), "") or any("\n" in v for v in given_.values())


def test_hands_and_saw_take_the_seconds_that_the_settings_say() -> None:
    own = replace(
        Settings(),
        pull_seconds=1,
        dig_seconds=2,
        fence_seconds=3,
        cut_seconds=4,
        rest_seconds=5,
        heavy_seconds=6,
        path_seconds=7,
    )
    assert own.seconds == Seconds(pull=1, dig=2, fence=3, cut=4, rest=5, heavy=6, path=7)


def test_nothing_has_no_sign() -> None:
    assert write_value("label_right", 0, Unit.MM) == "0 mm"
    assert write_value("label_right", -3200, Unit.MM) == "-1 mm"
    assert write_value("label_right", 1, Unit.MM) == "0.0003125 mm"


def test_a_setting_is_shown_to_three_places_and_says_when_it_is_rounded() -> None:
    """0.703 in is 17.8562 mm (57140 ticks of 1/3200 mm): about 17.856 mm, and 0.703 in to the tick."""
    assert show_value("kerf", 57_140, Unit.MM) == "≈17.856 mm"
    assert show_value("kerf", 3 * MM, Unit.MM) == "3 mm"
    assert show_value("keep_area", 90_000 * MM * MM, Unit.MM) == "90000 mm²"
    assert (show_value("bench", 40, Unit.MM), show_value("currency", "EUR", Unit.MM)) == ("40", "EUR")


def test_every_setting_is_explained_in_a_sentence() -> None:
    assert set(EFFECTS) == set(names())
    assert all(text.endswith(".") and len(text) <= 110 for text in EFFECTS.values())


def test_settings_are_called_in_words_of_the_trade_and_read_back() -> None:
    inches = change(inch_shop(), {"fence_step": "1/16", "small_worth": "37.5 %", "guide_name": "track saw"})
    assert (inches.fence, inches.keep_floor, inches.guide_name) == (16, 375, "track saw")
    for name in names():
        written = write_value(name, getattr(inches, name), inches.unit)
        assert change(inches, {called(name): written}) == inches, name
    assert (show_value("fence", 16, Unit.INCH), show_value("keep_floor", 400, Unit.INCH)) == (
        "1/16 in",
        "40 %",
    )
    for step in (8, 16, 32, 64, 128):
        assert change(inches, {"fence_step": f"1/{step}"}).fence == step
    with pytest.raises(BadInput, match=r"fence_step is 1/24"):
        change(inches, {"fence_step": "1/24"})
    with pytest.raises(BadInput, match=r"small_worth is 100\.1 %"):
        change(inches, {"keep_floor": "1001"})


def test_what_an_inch_shop_cuts_away_or_adds_is_a_figure_of_its_rule() -> None:
    """A trim of 10 mm would read as about 13/32 on every card."""
    shop = inch_shop()
    away = ("kerf", "board_end_trim", "band_over", "saw_length", "saw_width", "jointer_width", "jointer_face",
            "planer_length", "planer_face", "joint_edge")  # fmt: skip
    for name in away:
        assert getattr(shop, name) % (TICKS_PER_INCH // 32) == 0, name


INCHES = {
    "unit": "in", "currency": "USD", "kerf": "0.125 in", "keep_short_side": "6 in", "keep_area": "144 in²",
    "keep_board_width": "1.5 in", "keep_board_length": "12 in", "paper": "letter", "label": "letter-30",
    "bit": "0.25 in", "saw_length": "0.25 in", "saw_width": "0.125 in", "jointer_width": "0.125 in",
    "jointer_face": "0.03125 in", "planer_length": "0.25 in", "planer_face": "0.0625 in",
    "joint_edge": "0.125 in", "board_end_trim": "0.375 in", "band_over": "1 in",
}  # fmt: skip


def test_a_shop_in_inches_starts_with_round_inches() -> None:
    """1/8 in blades, 1/32 a jointed and 1/16 a planed face, 1/4 in bits are common practice, no source."""
    inches, metric = inch_shop(), Settings()
    own = {name for name in names() if getattr(inches, name) != getattr(metric, name)}
    assert {name: write_value(name, getattr(inches, name), Unit.INCH) for name in own} == INCHES


def test_a_second_of_waiting_is_worth_its_share_of_a_fetched_piece() -> None:
    """Hundredths of a second's work that a second's wait is worth, by the seconds a piece takes to fetch."""
    own = replace(Settings(), wait_worth=25, pull_seconds=50)
    assert own.wait == Fraction(25, 100) / 50
    assert replace(own, pull_seconds=0).wait == Fraction(1, 60)
