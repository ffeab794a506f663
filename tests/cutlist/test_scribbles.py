"""Scribbled lists as people write them, invented: each line is read as it was meant, or asked about.

What is meant is written beside each line: name, count, length, width, thickness and material; an entry
without parts is one that a person must be asked about, with the readings that are offered.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from stockyard.cutlist import CutList, read
from stockyard.measure import TICKS_PER_INCH, TICKS_PER_MM, Unit

Part = tuple[str, int, str, str, str, str]

INCHES: list[tuple[str, list[Part]]] = [
    ("Window seat, ¾ birch ply\n2 ends 18⅜ × 16½\n1 pc top 47 13/16 x 17-1/4",
     [("ends", 2, "18 3/8", "16 1/2", "3/4", "birch ply"),
      ("top", 1, "47 13/16", "17 1/4", "3/4", "birch ply")]),
    ("3/4 ply\n2 pcs top 36 x 18\nditto 1 pc 34 x 18",
     [("top", 2, "36", "18", "3/4", "ply"), ("top", 1, "34", "18", "3/4", "ply")]),
    ("sides (2) 31 1/2\" x 11 1/4\", back (1) 30\" x 31 1/2\" - 1/4 ply",
     [("sides", 2, "31 1/2", "11 1/4", "1/4", "ply"), ("back", 1, "30", "31 1/2", "1/4", "ply")]),
    ("all parts 3/4\" mdf unless noted:\n4 legs 28 x 3\n1 top 30 x 30 (1/2 mdf)\n2 rails 24 x 3",
     [("legs", 4, "28", "3", "3/4", "mdf"), ("top", 1, "30", "30", "1/2", "mdf"),
      ("rails", 2, "24", "3", "3/4", "mdf")]),
    ("4 stretchers 2'6\" x 3-1/2\" x 3/4\" pine", [("stretchers", 4, "30", "3 1/2", "3/4", "pine")]),
    ("drawer bottoms 5 - 15 1/4 x 19 3/4 - 1/4 ply",
     [("drawer bottoms", 5, "15 1/4", "19 3/4", "1/4", "ply")]),
    ("drawer bottoms, 5, 15 1/4 x 19 3/4, 1/4 ply",
     [("drawer bottoms", 5, "15 1/4", "19 3/4", "1/4", "ply")]),
    ("two shelves eleven and a quarter by thirty-six, 3/4 mdf",
     [("shelves", 2, "11 1/4", "36", "3/4", "mdf")]),
    ("toe kick 1 @ 3 1/2 x 8'0 in 3/4 ply", [("toe kick", 1, "3 1/2", "96", "3/4", "ply")]),
    ("gables: 2 @ 30-1/2\" × 23-1/4\"; deck: 1 @ 34-1/2\" × 23-1/4\" (all 3/4\" melamine)",
     [("gables", 2, "30 1/2", "23 1/4", "3/4", "melamine"),
      ("deck", 1, "34 1/2", "23 1/4", "3/4", "melamine")]),
    ("lid - 20.25 x 14.125 x .500 baltic birch (1)", [("lid", 1, "20 1/4", "14 1/8", "1/2", "baltic birch")]),
    ("2 x sides 24 x 12 in 3/4 ply", [("sides", 2, "24", "12", "3/4", "ply")]),
    ("1/2\" ply, drawer parts\n4 sides 20 x 5 1/2\n4 f/b 13 1/8 x 5 1/2\n2 bott 13 1/8 x 19 1/2 - 1/4 ply",
     [("sides", 4, "20", "5 1/2", "1/2", "ply"), ("f/b", 4, "13 1/8", "5 1/2", "1/2", "ply"),
      ("bott", 2, "13 1/8", "19 1/2", "1/4", "ply")]),
    ("3/4 ply\n4 doors 29 15⁄16 x 14 7⁄8\n2 fillers 30 x 3 ½",
     [("doors", 4, "29 15/16", "14 7/8", "3/4", "ply"), ("fillers", 2, "30", "3 1/2", "3/4", "ply")]),
    ("3/4 ply\n2 sides ........ 30 x 11 3/4\n3 shelves ...... 28 1/2 x 11 1/2",
     [("sides", 2, "30", "11 3/4", "3/4", "ply"), ("shelves", 3, "28 1/2", "11 1/2", "3/4", "ply")]),
    ("* 2 sides, 30\" long, 11 3/4\" wide, 3/4\" ply", [("sides", 2, "30", "11 3/4", "3/4", "ply")]),
    ("1/2\" ply bottom 18 1/4\" x 14 1/2\" (x2)", [("bottom", 2, "18 1/4", "14 1/2", "1/2", "ply")]),
    ("3/4 ply\nsides 2@30x12\nback 1@30x24",
     [("sides", 2, "30", "12", "3/4", "ply"), ("back", 1, "30", "24", "3/4", "ply")]),
    ("3/4 ply\n2 sides 2' 6 1/2 x 1'\n1 top 3’ 4 ⅝” x 22”",
     [("sides", 2, "30 1/2", "12", "3/4", "ply"), ("top", 1, "40 5/8", "22", "3/4", "ply")]),
    ("3/4 ply\n1 top 40,5 x 22", [("top", 1, "40 1/2", "22", "3/4", "ply")]),
    ("3/4 ply\nqty 2, 30 x 12, side\nqty 1, 30 x 24, back, 1/4 ply\nqty 1, 10 x 10, lid",
     [("side", 2, "30", "12", "3/4", "ply"), ("back", 1, "30", "24", "1/4", "ply"),
      ("lid", 1, "10", "10", "3/4", "ply")]),
    ("3/4 ply\nSides – 2 – 30 1/4 × 20 3/4\nBottom – 1 – 34 1/2 × 20 3/4",
     [("Sides", 2, "30 1/4", "20 3/4", "3/4", "ply"), ("Bottom", 1, "34 1/2", "20 3/4", "3/4", "ply")]),
    ("3/4 ply\nA. side 30 1/4 x 20 3/4 (2)\nB. bottom 34 1/2 x 20 3/4 (1)",
     [("A, side", 2, "30 1/4", "20 3/4", "3/4", "ply"), ("B, bottom", 1, "34 1/2", "20 3/4", "3/4", "ply")]),
    ("T=3/4 W=11 1/4 L=48 qty=2 side, ply", [("side", 2, "48", "11 1/4", "3/4", "ply")]),
    ("3/4 ply\n2 sides 30\u00a01/4″ × 12″\n1 top 24″\u202f×\u202f12″",
     [("sides", 2, "30 1/4", "12", "3/4", "ply"), ("top", 1, "24", "12", "3/4", "ply")]),
    ("(12) 11 1/4 x 23 1/2 shelves 3/4 prefinished maple ply",
     [("shelves", 12, "11 1/4", "23 1/2", "3/4", "prefinished maple ply")]),
]  # fmt: skip

MILLIMETRES: list[tuple[str, list[Part]]] = [
    ("Regal, 18 mm Birke Multiplex\n2 Seiten 1200 × 300\n4 Böden 764 × 300",
     [("Seiten", 2, "1200", "300", "18", "Birke Multiplex"),
      ("Böden", 4, "764", "300", "18", "Birke Multiplex")]),
    ("2 sides 720x560, 1 bottom 564x560 - all 18mm birch ply",
     [("sides", 2, "720", "560", "18", "birch ply"), ("bottom", 1, "564", "560", "18", "birch ply")]),
    ("1200,5 x 600,5 MDF 18 - 2 St.", [("", 2, "1200.5", "600.5", "18", "MDF")]),
    ("2 off 600 x 400 x 12 ply & 2 off 400 x 400 ditto",
     [("", 2, "600", "400", "12", "ply"), ("", 2, "400", "400", "12", "ply")]),
    ("12mm ply\n- 2 sides 400x120\n- 2 ends 280x120\n6mm ply\n- 1 base 388 x 288",
     [("sides", 2, "400", "120", "12", "ply"), ("ends", 2, "280", "120", "12", "ply"),
      ("base", 1, "388", "288", "6", "ply")]),
    ("pos 1: 2 pcs 597 x 297 mm, MDF 19\npos 2: 2 pcs 497 x 297 mm, MDF 19",
     [("pos 1", 2, "597", "297", "19", "MDF"), ("pos 2", 2, "497", "297", "19", "MDF")]),
    ("18mm birch ply\nSides 2 no 720 x 560\nBack 1 no 720 x 564 (6mm MDF)\nPlinth 1 no 564 x 100",
     [("Sides", 2, "720", "560", "18", "birch ply"), ("Back", 1, "720", "564", "6", "MDF"),
      ("Plinth", 1, "564", "100", "18", "birch ply")]),
    ("ply 18: 720*560 - 2pcs; 564*560 - 1pc",
     [("", 2, "720", "560", "18", "ply"), ("", 1, "564", "560", "18", "ply")]),
    ("18 ply\n2 @ 720 x 560 + 2 @ 564 x 560 + 1 @ 564 x 100",
     [("", 2, "720", "560", "18", "ply"), ("", 2, "564", "560", "18", "ply"),
      ("", 1, "564", "100", "18", "ply")]),
    ("2 @ 0.72 m x 0.56 m sides 18mm ply", [("sides", 2, "720", "560", "18", "ply")]),
    ("5 shelves 900 (L) x 250 (W), 18 mm mdf", [("shelves", 5, "900", "250", "18", "mdf")]),
    ("18 mm ply\n2 sides 720 x 560\n6mm MDF: 1 back 600 x 720\n1 top 600 x 560",
     [("sides", 2, "720", "560", "18", "ply"), ("back", 1, "600", "720", "6", "MDF"),
      ("top", 1, "600", "560", "18", "ply")]),
    ("2 sides 720 x 560 in 18mm ply, 1 back in 6mm MDF 720 x 600",
     [("sides", 2, "720", "560", "18", "ply"), ("back", 1, "720", "600", "6", "MDF")]),
]  # fmt: skip

# A line, of it or a list that ends with it, and the readings that are offered.
OPEN: list[tuple[str, Unit, list[str]]] = [
    ("3/4 ply\n2 pr doors 30 x 15", Unit.INCH, ["2 pieces in all", "4 pieces in all"]),
    ("3/4 ply\n2 sides 30-31 x 15", Unit.INCH, ["31"]),
    ("3/4 ply\nsides 30-31 x 15", Unit.INCH, ["30 pieces", "one piece"]),
    ("3/4 ply\n2 sides approx 30 x 15", Unit.INCH, ["as written"]),
    ("3/4 ply\n2 sides ca. 30 x 15", Unit.INCH, ["as written"]),
    ("3/4 ply\n2 sides 30 x 15 + 1 spare", Unit.INCH, ["16, the sum"]),
    ("3/4 ply\n2 sides ~30 x 15", Unit.INCH, []),
    ("3/4 ply\n30 x 12 - 2 sides", Unit.INCH, ["2 pieces"]),
    ("3/4 ply\n30 x 24 - 1 back", Unit.INCH, ["1 piece"]),
    ("3/4 ply\nshelf 1: 30 x 11", Unit.INCH, ["1 piece", "one piece, and 1 in its name"]),
    ("2/18mm MDF 720x560", Unit.MM, []),
    ("2 sides 720 x 560 x 18/19 ply", Unit.MM, []),
    ("Drawer 1 - 20 x 5 x 1/2 ply\nDrawer 2 - 20 x 6 x 1/2 ply", Unit.INCH,
     ["2 × Drawer", "one piece, Drawer 2"]),
    ("Door 1 – 596 × 716 – 19 mm MDF\n\nDoor 2 – 396 × 716 – 19 mm MDF", Unit.MM,
     ["2 × Door", "one piece, Door 2"]),
    ("3/4 ply\n1 side 30 x 12\nsame - door 29 x 29 (1)", Unit.INCH, ["the same material"]),
    ("1 ea. 22 1/2 x 34 3/4 ply back", Unit.INCH, ["34-3/4", "34, and 3/4 thick"]),
    ("3/4 ply: 2 ends 16 x 12; 1 back 31 1/2 x 16 of 1/4", Unit.INCH,
     ["for all parts of the line", "only for back"]),
    ("2 ends 16 x 11 7/8 3/4 ply\n2 more same", Unit.INCH, ["only a title"]),
    ("1.200 x 600 x 18 mm MDF, 2 pcs top", Unit.MM, ["1200", "1.200"]),
    ("2 sides 72x56cm 18mm ply", Unit.MM, ["72 cm", "72 mm"]),
    ("3/4 ply\n2 sides 30 x 12 w/ 3/8 rabbet", Unit.INCH, ["3/8 thick"]),
    ("18 mm MFC\n720 x 560 x 2", Unit.MM, ["2 pieces", "one piece, 2 thick"]),
    ("18 ply 720 x 560 LH and RH", Unit.MM, ["18 pieces", "one piece, 18 thick"]),
    ("18 ply\n1 worktop 2400 x 600 (in 2 pcs)", Unit.MM, ["only a note: 'in 2 pcs'"]),
    ("1 sheet 3/4 ply 4x8", Unit.INCH, ["no part: leave it out"]),
    ("3/4 ply\n2 sides 30x12\n1 top, same width, 24 long", Unit.INCH, ["only a title"]),
    ("18 ply\n720 +/- 1 x 560, 2 pcs", Unit.MM, []),
    ("3/4 ply\n2 sides 30 1/4+ x 12", Unit.INCH, []),
    ("panel 600 x 400 +5 both ways, 12mm ply", Unit.MM, ["405, the sum"]),
]  # fmt: skip


def listed(text: str, unit: Unit, **answers: str) -> CutList:
    return read(text, unit=unit, first="along", answers=answers)


def ticks(figure: str, unit: Unit) -> int:
    return int(sum(map(Fraction, figure.split())) * (TICKS_PER_INCH if unit is Unit.INCH else TICKS_PER_MM))


@pytest.mark.parametrize(
    ("text", "unit", "parts"),
    [(t, Unit.INCH, p) for t, p in INCHES] + [(t, Unit.MM, p) for t, p in MILLIMETRES],
)
def test_a_scribble_is_read_as_it_was_meant(text: str, unit: Unit, parts: list[Part]) -> None:
    found = listed(text, unit)
    assert not found.questions
    got = [(r.name, r.count, r.length, r.width, r.thickness, r.material) for r in found.rows]
    assert got == [
        (name, n, *(ticks(f, unit) for f in (length, width, thick)), stuff)
        for name, n, length, width, thick, stuff in parts
    ]
    assert not found.unread


@pytest.mark.parametrize(("text", "unit", "readings"), OPEN)
def test_a_scribble_with_two_meanings_is_asked(text: str, unit: Unit, readings: list[str]) -> None:
    found = listed(text, unit)
    last = text.count("\n") + 1
    (question,) = (q for q in found.questions if q.line == last)
    assert [r.says for r in question.readings] == readings
    assert not any(row.line == last for row in found.rows)


def test_numbered_parts_are_counted_or_named_as_answered() -> None:
    text = "Drawer 1 - 20 x 5 x 1/2 ply\nDrawer 2 - 20 x 6 x 1/2 ply"
    named = listed(text, Unit.INCH, line1="2", line2="2")
    assert [(r.name, r.count) for r in named.rows] == [("Drawer 1", 1), ("Drawer 2", 1)]
    counted = listed(text, Unit.INCH, line1="1", line2="1")
    assert [(r.name, r.count) for r in counted.rows] == [("Drawer", 1), ("Drawer", 2)]
    assert not named.questions and not counted.questions


def test_numbers_that_do_not_go_on_are_counts() -> None:
    found = listed("3/4 ply\nshelf 4 - 20 x 5\nshelf 2 - 20 x 6", Unit.INCH)
    assert not found.questions and [r.count for r in found.rows] == [4, 2]
    said = listed("3/4 ply\nDoor 1 - 2 pcs - 30 x 20\nDoor 2 - 3 pcs - 30 x 21", Unit.INCH)
    assert [(r.name, r.count) for r in said.rows] == [("Door 1", 2), ("Door 2", 3)]


def test_a_figure_that_may_count_or_be_the_thickness_is_either_as_answered() -> None:
    behind = "18 mm MFC\n720 x 560 x 2"
    assert [(r.count, r.thickness_name) for r in listed(behind, Unit.MM, line2="1").rows] == [(2, "18 mm")]
    assert [(r.count, r.thickness_name) for r in listed(behind, Unit.MM, line2="2").rows] == [(1, "2 mm")]
    first = "18 ply 720 x 560"
    assert [(r.count, r.thickness_name) for r in listed(first, Unit.MM, line1="1").rows] == [(18, None)]
    assert [(r.count, r.thickness_name) for r in listed(first, Unit.MM, line1="2").rows] == [(1, "18 mm")]
    (out,) = listed("1 sheet 3/4 ply 4x8", Unit.INCH, line1="1").ignored
    assert out.says == "comment"


def test_words_before_a_material_and_its_colon_name_the_parts() -> None:
    found = listed("rails 4/4 poplar: 2 @ 5 1/2 x 30, 2 stiles 4 1/2 x 30", Unit.INCH)
    assert [(r.name, r.material, r.note) for r in found.rows] == [
        ("rails", "poplar", ""), ("stiles", "poplar", "rails"),
    ]  # fmt: skip
    assert [r.says for r in found.unread] == ["'rails' is kept as a note"]


def test_the_answer_to_same_before_a_name_takes_the_material_above() -> None:
    found = listed("3/4 ply\n1 side 30 x 12\nsame - door 29 x 29 (1)", Unit.INCH, line3="1")
    assert [(r.name, r.count, r.material) for r in found.rows] == [("side", 1, "ply"), ("door", 1, "ply")]
