"""Weights, lifts, loads and sag against published figures; the source stands beside each check."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stockyard import handling, woods
from stockyard.errors import BadInput
from stockyard.handling import Coupling, Ends, Hoist, Zone
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit, parse

# NIST SP 811 (2008), Appendix B.8 and Table 9: the pound, standard gravity, the pound-force, the psi.
GRAMS_PER_LB = 453.59237
GRAVITY = 9.80665
NEWTONS_PER_LB = 4.448222
MPA_PER_MEGAPSI = 6894.757
IDEAL = Hoist(horizontal=10, vertical=30, travel=10, coupling=Coupling.GOOD)


def inch(text: str) -> int:
    return parse(text, Unit.INCH)


def density(lb_per_cubic_foot: float) -> int:
    return round(lb_per_cubic_foot * GRAMS_PER_LB / 1000 / 0.3048**3)


@pytest.mark.parametrize(
    ("length", "width", "thick", "lb_ft3", "pounds"),
    [
        # APA: 3 lb/ft² for each inch of softwood plywood.
        ("96", "48", "1/4", 36, 24), ("96", "48", "3/8", 36, 36), ("96", "48", "1/2", 36, 48),
        ("96", "48", "5/8", 36, 60), ("96", "48", "3/4", 36, 72),
        # MDF at 48 lb/ft³ (trade figure): 49 x 97 is the oversize sheet.
        ("96", "48", "1/4", 48, 32), ("96", "48", "1/2", 48, 64), ("96", "48", "3/4", 48, 96),
        ("97", "49", "3/4", 48, 99.0),
        # Solid wood: actual PS 20 sizes, density from FPL-GTR-282 Table 5-3b.
        ("120", "5 1/2", "3/4", 44.1, 12.6), ("192", "3 1/2", "1 1/2", 33.6, 19.6),
        ("192", "11 1/4", "1 1/2", 35.7, 66.9),
    ],
)  # fmt: skip
def test_weights_of_sheets_and_boards(
    length: str, width: str, thick: str, lb_ft3: float, pounds: float
) -> None:
    grams = handling.weight(inch(length), inch(width), inch(thick), density(lb_ft3))
    assert grams / GRAMS_PER_LB == pytest.approx(pounds, rel=0.005)


def test_weights_of_birch_sheets_by_a_makers_density() -> None:
    """Maker's datasheet: 685 kg/m³ at 18 mm; the sheet's own mean thickness is 17.7 mm."""
    mm = TICKS_PER_MM
    assert handling.weight(2440 * mm, 1220 * mm, 18 * mm, 685) == pytest.approx(36_700, abs=50)
    assert handling.weight(2440 * mm, 1220 * mm, 17 * mm + 7 * mm // 10, 685) == pytest.approx(36_100, abs=50)
    assert handling.weight(1525 * mm, 1525 * mm, 17 * mm + 7 * mm // 10, 680) == pytest.approx(28_000, abs=50)


def test_team_rule() -> None:
    """HSE L23: two lift 2/3 of their sum, three half of it; 25 + 25 -> 33.3, 20 + 20 -> 26.6, three 37.5."""
    assert handling.team_figure([25_000]) == 25_000
    assert handling.team_figure([25_000] * 2) == 33_333
    assert handling.team_figure([20_000] * 2) == 26_666
    assert handling.team_figure([25_000] * 3) == 37_500
    for crowd in ([], [25_000] * 4):
        with pytest.raises(BadInput):
            handling.team_figure(crowd)


def test_guide_figures_and_their_reductions() -> None:
    """HSE INDG143: 25/16 kg at the elbow; 10 % off past 45°, 20 % past 90°; 30, 50, 80 % by pace."""
    elbow = handling.GUIDE[Zone.ELBOW]
    assert (elbow.higher, elbow.lower) == (25_000, 16_000)
    assert handling.reduced(25_000, twist=45) == 25_000
    assert handling.reduced(25_000, twist=46) == 22_500
    assert handling.reduced(25_000, twist=91) == 20_000
    assert handling.reduced(25_000, per_minute=1.5) == 17_500
    assert handling.reduced(25_000, per_minute=6) == 12_500
    assert handling.reduced(25_000, per_minute=13) == 5_000
    assert handling.reduced(25_000, per_minute=3.5) == 12_500, "between two bands the stricter holds"


@pytest.mark.parametrize(
    ("pounds", "people"), [(24, 1), (48, 1), (72, 2), (80, 3), (99, None)]
)  # fmt: skip
def test_lift_verdicts_on_sheets(pounds: int, people: int | None) -> None:
    """1/4 and 1/2 in ply one person, 3/4 ply 32.7 kg two (33.3), 49x97 MDF over even three (37.5)."""
    assert handling.lift(round(pounds * GRAMS_PER_LB)).people == people


def test_half_inch_ply_is_over_the_lower_figure_only() -> None:
    verdict = handling.lift(round(48 * GRAMS_PER_LB))
    assert verdict.people == 1
    assert verdict.says.startswith("22 kg: over the lower guide figure")
    assert handling.lift(round(48 * GRAMS_PER_LB), Unit.INCH).says.startswith("48 lb: over the lower")


@given(st.integers(0, 60_000), st.integers(0, 60_000))
def test_heavier_never_asks_for_fewer(a: int, b: int) -> None:
    light, heavy = (handling.lift(g).people or 9 for g in sorted((a, b)))
    assert light <= heavy


def test_niosh_ideal_lift_is_the_load_constant() -> None:
    """NIOSH 94-110 (rev. 2021): LC 51 lb with every multiplier 1."""
    assert handling.niosh_limit(IDEAL) == 51
    assert handling.niosh_limit(IDEAL, printed=True) == 51


def test_niosh_example_one() -> None:
    """NIOSH 94-110, Example 1, Loading Punch Press Stock (pp. 33-37), inputs from memory.

    Table multipliers give 16.3 and 14.5 lb (LI 2.7, 3.0); the formulas 16.02 and 14.15 (2.75, 3.11).
    """
    origin = Hoist(horizontal=23, vertical=15, travel=49, coupling=Coupling.FAIR)
    destination = Hoist(horizontal=23, vertical=64, travel=49, coupling=Coupling.FAIR)
    assert handling.niosh_multipliers(origin, printed=True) == (0.44, 0.89, 0.86, 1.0, 1.0, 0.95)
    assert handling.niosh_limit(origin, printed=True) == pytest.approx(16.3, abs=0.05)
    assert 44 / handling.niosh_limit(origin, printed=True) == pytest.approx(2.7, abs=0.05)
    assert handling.niosh_limit(destination, printed=True) == pytest.approx(14.5, abs=0.05)
    assert 44 / handling.niosh_limit(destination, printed=True) == pytest.approx(3.0, abs=0.05)
    assert handling.niosh_limit(origin) == pytest.approx(16.02, abs=0.005)
    assert 44 / handling.niosh_limit(origin) == pytest.approx(2.75, abs=0.005)
    assert handling.niosh_limit(destination) == pytest.approx(14.15, abs=0.005)
    assert 44 / handling.niosh_limit(destination) == pytest.approx(3.11, abs=0.005)


def test_niosh_printed_tables() -> None:
    """NIOSH 94-110 Tables 1 to 4 as printed (rows from memory; 22 -> .46 and 23 -> .44 were read)."""

    def row(index: int, **change: float) -> float:
        base = {"horizontal": 10.0, "vertical": 30.0, "travel": 10.0, "twist": 0.0} | change
        return handling.niosh_multipliers(Hoist(**base), printed=True)[index]  # type: ignore[arg-type]

    reach = (1, .91, .83, .77, .71, .67, .63, .59, .56, .53, .5, .48, .46, .44, .42, .4)  # fmt: skip
    assert tuple(row(0, horizontal=h) for h in range(10, 26)) == reach
    height = (.78, .81, .85, .89, .93, .96, 1, .96, .93, .89, .85, .81, .78, .74, .7)  # fmt: skip
    assert tuple(row(1, vertical=v) for v in range(0, 71, 5)) == height
    way = {10: 1, 15: .94, 20: .91, 25: .89, 30: .88, 40: .87, 50: .86, 60: .85, 70: .85}  # fmt: skip
    assert {d: row(2, travel=d) for d in way} == way
    turn = (1, .95, .9, .86, .81, .76, .71, .66, .62, .57)  # fmt: skip
    assert tuple(row(3, twist=a) for a in range(0, 136, 15)) == turn


def test_niosh_ends_where_its_ranges_end() -> None:
    """NIOSH 94-110 pp. 7-12: H over 25, V or D over 70, A over 135 give nothing; H and D are 10 at least."""
    for far in ({"horizontal": 25.1}, {"vertical": 70.1}, {"travel": 70.1}, {"twist": 135.1}):
        assert handling.niosh_limit(Hoist(**({"horizontal": 10, "vertical": 30, "travel": 10} | far))) == 0
    assert handling.niosh_limit(Hoist(horizontal=4, vertical=30, travel=2, coupling=Coupling.GOOD)) == 51


def test_niosh_on_sheets_lifted_from_a_stack() -> None:
    """H 12, V 28, D 12, poor grip: 36.5 lb; lifting index .66, 1.31, 1.97, 2.63 for 24, 48, 72, 96 lb."""
    limit = handling.niosh_limit(Hoist(horizontal=12, vertical=28, travel=12))
    assert limit == pytest.approx(36.5, abs=0.05)
    for pounds, index in ((24, 0.66), (48, 1.31), (72, 1.97), (96, 2.63)):
        assert pounds / limit == pytest.approx(index, abs=0.005)


def test_a_carried_sheet_is_outside_the_equation() -> None:
    """NIOSH 94-110 p. 6."""
    carried = Hoist(horizontal=12, vertical=28, travel=12, carried=True, one_handed=True)
    assert len(handling.outside_niosh(carried)) == 2
    with pytest.raises(BadInput, match="carried"):
        handling.niosh_limit(carried)


def test_load_on_a_level() -> None:
    """72 lb sheets on a level whose plate says 1000 lb: 13 stay (936), the fourteenth is too much (1008)."""
    sheet, plate = round(72 * GRAMS_PER_LB), round(1000 * GRAMS_PER_LB)
    assert handling.place_load(13 * sheet, plate).over is False
    assert handling.place_load(14 * sheet, plate).over is True
    mixed = round((10 * 72 + 8 * 48) * GRAMS_PER_LB)
    assert handling.place_load(mixed, plate).over is True, "1104 lb"


def test_no_plate_no_guess() -> None:
    load = handling.place_load(500_000, None, unweighed=2)
    assert load.over is None
    assert "plate" in load.says
    assert "2 more without a known weight" in load.says


@pytest.mark.parametrize(
    ("megapsi", "inches"), [(1.82, 0.0506), (0.52, 0.177), (1.01, 0.0912), (1.24, 0.0743)]
)
def test_shelf_sag(megapsi: float, inches: float) -> None:
    """3/4 x 11-1/4 shelf, 36 in, 20 lb/ft: eq. 9-2 and Table 9-1 (FPL-GTR-190), E of Tables 5-3b and 12-1."""
    got = handling.sag(
        inch("36"), inch("11 1/4"), inch("3/4"), 60 * NEWTONS_PER_LB, megapsi * MPA_PER_MEGAPSI
    )
    assert got / 25.4 == pytest.approx(inches, rel=0.005)


def test_shelf_sag_variants() -> None:
    """The same shelf: 60 lb in the middle .0810; 23/32 thick pine .0844; shear adds .0003 at G = E/16."""
    oak, load = 1.82 * MPA_PER_MEGAPSI, 60 * NEWTONS_PER_LB
    run, deep, thick = inch("36"), inch("11 1/4"), inch("3/4")
    even = handling.sag(run, deep, thick, load, oak)
    assert handling.sag(run, deep, thick, load, oak, ends=Ends.CENTRE) / 25.4 == pytest.approx(
        0.0810, abs=5e-5
    )
    pine = handling.sag(run, deep, inch("23/32"), load, 1.24 * MPA_PER_MEGAPSI)
    assert pine / 25.4 == pytest.approx(0.0844, abs=5e-5)
    assert (handling.sag(run, deep, thick, load, oak, shear=oak / 16) - even) / 25.4 == pytest.approx(
        0.0003, abs=5e-5
    )
    assert even / handling.sag(run, deep, thick, load, oak, ends=Ends.CLAMPED) == pytest.approx(5)
    assert "straight" in handling.sag_says(even, run)
    assert "add supports" in handling.sag_says(0.177 * 25.4, run), "MDF fails 1/32 in a foot"
    assert handling.sag_says(even, run).startswith("1.3 mm sag")
    assert handling.sag_says(even, run, Unit.INCH).startswith("0.05 in sag")


def test_metric_shelf_sag() -> None:
    """MDF 18 x 300, 900 mm, 30 kg, E 3590 MPa (FPL-GTR-190 Table 12-1): 5.34 mm."""
    mm = TICKS_PER_MM
    got = handling.sag(900 * mm, 300 * mm, 18 * mm, 30 * GRAVITY, 3590)
    assert got == pytest.approx(5.34, abs=0.005)


@pytest.mark.parametrize(("span", "inches"), [(32, 0.0033), (48, 0.0168), (64, 0.0532)])
def test_a_boards_own_sag_between_brackets(span: int, inches: float) -> None:
    """White pine 1x12 lying flat (E 1.24, 24.5 lb/ft³, Table 5-3b): sixteen times for double the span."""
    run, wide, thick = span * TICKS_PER_INCH, inch("11 1/4"), inch("3/4")
    own = handling.weight(run, wide, thick, density(24.5)) / 1000 * GRAVITY
    assert handling.sag(run, wide, thick, own, 1.24 * MPA_PER_MEGAPSI) / 25.4 == pytest.approx(
        inches, rel=0.01
    )


@pytest.mark.parametrize(("feet", "count", "overhang"), [(10, 4, 12), (12, 5, 8), (16, 6, 16)])
def test_supports_along_a_board(feet: int, count: int, overhang: int) -> None:
    """Fine Woodworking, December 2005: every other 16 in stud, six for 16 ft stock."""
    found = handling.supports_needed(feet * 12 * TICKS_PER_INCH)
    assert (found.count, found.overhang) == (count, overhang * TICKS_PER_INCH)


@given(st.integers(1, 10_000 * TICKS_PER_MM))
def test_a_board_never_hangs_over_more_than_half_a_spacing(length: int) -> None:
    found = handling.supports_needed(length)
    assert found.count >= 2
    assert 2 * found.overhang <= handling.SUPPORT_SPACING


@pytest.mark.parametrize(
    ("name", "kilos", "gpa"),
    [
        # FPL-GTR-282 Table 5-3a (metric) prints these stiffnesses for the same species.
        ("white ash", 672, 12.0), ("black cherry", 560, 10.3), ("hard sugar maple", 706, 12.6),
        ("red oak", 706, 12.5), ("white oak", 762, 12.3), ("yellow-poplar", 470, 10.9),
        ("Douglas-fir", 538, 13.4), ("loblolly pine", 571, 12.3),
    ],
)  # fmt: skip
def test_woods_agree_with_the_metric_table(name: str, kilos: int, gpa: float) -> None:
    wood = woods.look_up(name)
    assert wood is not None
    assert wood.stiffness is not None
    assert wood.density == kilos
    assert wood.stiffness / 1000 == pytest.approx(gpa, abs=0.06)


def test_woods_are_found_by_their_words() -> None:
    assert woods.look_up("18 mm birch plywood BB/BB").name == "birch ply"  # type: ignore[union-attr]
    assert woods.look_up("oak veneered MDF").name == "mdf"  # type: ignore[union-attr]
    assert woods.look_up("steel plate") is None


@pytest.mark.parametrize(
    ("inches", "count", "overhang"),
    [(20, 2, 0), (32, 2, 0), (40, 2, 4), (64, 2, 16), (66, 3, 1), (96, 3, 16)],
)
def test_rests_lie_at_most_a_spacing_apart_and_the_ends_hang_over_half_of_one(
    inches: int, count: int, overhang: int
) -> None:
    """Rests every 32 in: 40 in lie on two with 4 in over at each end, 66 in want a third."""
    found = handling.supports_needed(inches * TICKS_PER_INCH)
    assert (found.count, found.overhang) == (count, overhang * TICKS_PER_INCH)
