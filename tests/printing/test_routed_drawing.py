"""Drawings for the router: read back by ezdxf and by a reader of group codes that shares nothing with it."""

from __future__ import annotations

from dataclasses import replace
from io import StringIO
from math import pi, tan
from random import Random
from xml.etree import ElementTree

import ezdxf
import pytest
from ezdxf import bbox

from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER, Unit
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.printing.drawing_file import sheet_dxf, sheet_svg
from stockyard.printing.outline_file import read_outline
from stockyard.printing.routed_sheet import (
    DrawingRules,
    Layers,
    Origin,
    Release,
    RoutedPart,
    RoutedSheet,
    tab_lines,
    wants_tabs,
)

Points = list[tuple[float, float]]


def random_sheet(seed: int) -> RoutedSheet:
    """Parts in a row, each of a random size."""
    rng = Random(seed)
    parts, x = [], rng.randint(0, 40 * MM)
    for n in range(rng.randint(1, 9)):
        dx, dy = rng.randint(20 * MM, 260 * MM), rng.randint(20 * MM, 800 * MM)
        parts.append(RoutedPart(label=f"p {n}", box=(x, rng.randint(0, 100 * MM), dx, dy)))
        x += dx + 6 * MM
    return RoutedSheet(
        name="sheet 1", material="birch ply", length=2500 * MM, width=1250 * MM, thickness=18 * MM,
        grain=True, parts=tuple(parts), clamps=((0, 0, 50 * MM, 50 * MM),),
    )  # fmt: skip


def group_codes(data: bytes) -> list[tuple[int, str]]:
    lines = data.decode("cp1252").splitlines()
    return [(int(a), b) for a, b in zip(lines[::2], lines[1::2], strict=True)]


def closed_lines(data: bytes, layer: str) -> list[Points]:
    """The closed polylines of a layer, read from the group codes as the format's reference gives them.

    LWPOLYLINE: 70 bit 1 closed, 10 and 20 for each vertex; POLYLINE: VERTEX entities up to SEQEND.
    """
    found: list[Points] = []
    kind, on, closed, points = "", "", False, []  # type: str, str, bool, Points
    inside = False
    for code, value in [*group_codes(data), (0, "EOF")]:
        if code == 0:
            if inside and value in ("VERTEX", "SEQEND"):
                kind = value
                if value == "SEQEND":
                    found.append(points)
                    inside = False
                continue
            if kind == "LWPOLYLINE" and on == layer and closed:
                found.append(points)
            kind, on, closed, points = value, "", False, []
        elif code == 8 and kind in ("LWPOLYLINE", "POLYLINE"):
            on = value
        elif code == 70 and kind == "LWPOLYLINE":
            closed = bool(int(value) & 1)
        elif code == 70 and kind == "POLYLINE":
            inside = bool(int(value) & 1) and on == layer
        elif code == 10 and kind in ("LWPOLYLINE", "VERTEX"):
            points.append((float(value), 0.0))
        elif code == 20 and kind in ("LWPOLYLINE", "VERTEX"):
            points[-1] = (points[-1][0], float(value))
    return found


@pytest.mark.parametrize("release", list(Release))
@pytest.mark.parametrize("unit", list(Unit))
def test_every_corner_is_where_it_belongs(release: Release, unit: Unit) -> None:
    """To 0.001 mm, for 75 random sheets of each kind."""
    for seed in range(75):
        sheet = random_sheet(seed)
        data = sheet_dxf(sheet, DrawingRules(unit=unit, release=release))
        assert not ezdxf.read(StringIO(data.decode("cp1252"))).audit().has_errors
        lines = closed_lines(data, "PARTS")
        assert len(lines) == len(sheet.parts)
        scale = TICKS_PER[unit]
        for part, points in zip(sheet.parts, lines, strict=True):
            x, y, dx, dy = part.box
            wanted = [(x, y), (x + dx, y), (x + dx, y + dy), (x, y + dy)]
            assert len(points) == 4
            for (px, py), (wx, wy) in zip(points, wanted, strict=True):
                assert abs(px * scale - wx) < 0.001 * MM and abs(py * scale - wy) < 0.001 * MM


@pytest.mark.parametrize("seed", range(12))
def test_a_label_lies_within_its_part(seed: int) -> None:
    """As ezdxf measures letters; long names on narrow parts are written smaller, not over the neighbours."""
    sheet = random_sheet(seed)
    named = tuple(replace(p, label=f"{p.label} of the tall cabinet, 12 of 40") for p in sheet.parts)
    doc = ezdxf.read(StringIO(sheet_dxf(replace(sheet, parts=named), DrawingRules()).decode("cp1252")))
    texts = [e for e in doc.modelspace().query("TEXT") if "cabinet" in e.dxf.text]
    for part, text in zip(named, texts, strict=True):
        x, y, dx, dy = (v / MM for v in part.box)
        box = bbox.extents([text])
        assert x < box.extmin.x and box.extmax.x < x + dx
        assert y < box.extmin.y and box.extmax.y < y + dy


def test_the_unit_is_declared(caplog: pytest.LogCaptureFixture) -> None:
    """R12 has no place for it; nobody is warned of that."""
    sheet_dxf(random_sheet(1), DrawingRules(release=Release.R12))
    assert not caplog.records
    """$INSUNITS is 4 for mm and 1 for inches (the format's reference)."""
    for unit, number in ((Unit.MM, 4), (Unit.INCH, 1)):
        doc = ezdxf.read(StringIO(sheet_dxf(random_sheet(1), DrawingRules(unit=unit)).decode("cp1252")))
        assert doc.header["$INSUNITS"] == number
        assert doc.header["$MEASUREMENT"] == (unit is Unit.MM)  # 0 for the sizes of inch drawings


@pytest.mark.parametrize(
    ("origin", "along_y", "corner", "far"),
    [
        (Origin.LOWER_LEFT, False, (0, 0), (2500, 1250)),
        (Origin.LOWER_RIGHT, False, (-2500, 0), (0, 1250)),
        (Origin.UPPER_LEFT, False, (0, -1250), (2500, 0)),
        (Origin.CENTRE, False, (-1250, -625), (1250, 625)),
        (Origin.LOWER_LEFT, True, (1250, 0), (0, 2500)),
        (Origin.UPPER_RIGHT, True, (0, -2500), (-1250, 0)),
    ],
)
def test_origin_and_axis(
    origin: Origin, along_y: bool, corner: tuple[float, float], far: tuple[float, float]
) -> None:
    """Where the piece's own corner and the one across from it come to lie; turned, never mirrored."""
    sheet = random_sheet(3)
    (points,) = closed_lines(sheet_dxf(sheet, DrawingRules(origin=origin, along_y=along_y)), "SHEET")
    assert points[0] == pytest.approx(corner) and points[2] == pytest.approx(far)
    twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True))
    assert twice == pytest.approx(2 * 2500 * 1250)  # counter-clockwise: a mirrored one would be negative


def test_layers_have_names_that_the_file_can_hold() -> None:
    sheet = random_sheet(2)
    named = DrawingRules(layers=Layers(parts="outside cut"))
    assert closed_lines(sheet_dxf(sheet, named), "outside cut")
    for layers, release in (
        (Layers(parts="a/b"), Release.R2000),
        (Layers(parts="outside cut"), Release.R12),
        (Layers(parts="A" * 32), Release.R12),
        (Layers(parts=""), Release.R2000),
        (Layers(parts="sheet"), Release.R2000),
    ):
        with pytest.raises(BadInput, match="layer for"):
            sheet_dxf(sheet, DrawingRules(layers=layers, release=release))


def test_small_parts_want_tabs() -> None:
    sheet = random_sheet(0)
    big = RoutedPart(label="big", box=(300 * MM, 300 * MM, 400 * MM, 300 * MM))
    small = replace(big, box=(0, 0, 400 * MM, 100 * MM))
    assert wants_tabs(sheet, small, DrawingRules()) and not wants_tabs(sheet, big, DrawingRules())
    assert wants_tabs(sheet, big, DrawingRules(reach=200 * MM))
    data = sheet_dxf(replace(sheet, parts=(small, big)), DrawingRules())
    doc = ezdxf.read(StringIO(data.decode("cp1252")))
    tabs = [e for e in doc.modelspace() if e.dxf.layer == "TABS"]
    assert [e.dxf.start.distance(e.dxf.end) for e in tabs] == pytest.approx([4.7625, 4.7625])  # 3/16 in
    assert [e.dxf.text for e in doc.modelspace().query("TEXT")][:2] == ["big tabs", "big"]


@pytest.mark.parametrize(
    ("box", "middles"),
    [
        ((500, 500, 400, 100), [(700, 500), (700, 600)]),  # clear of the edges: amid its longer sides
        ((500, 500, 100, 400), [(500, 700), (600, 700)]),
        ((0, 0, 400, 100), [(200, 100), (400, 50)]),  # in the corner
        ((500, 0, 400, 100), [(700, 100), (900, 50)]),  # at the lower edge: the nearest of both ends is free
        ((0, 0, 2500, 100), [(625, 100), (1875, 100)]),  # along the whole edge: both on what is left
        ((0, 0, 2500, 1250), []),  # the whole sheet
    ],
)
@pytest.mark.parametrize("turned", [False, True])
def test_no_tab_lies_on_the_edge_of_the_sheet(
    box: tuple[int, ...], middles: list[tuple[float, float]], turned: bool
) -> None:
    """Beyond the edge nothing is there to hold on to."""
    x, y, dx, dy = (v * MM for v in box)
    part = RoutedPart(label="p", box=(x, y, dx, dy), turned=turned)
    tabs = tab_lines(random_sheet(0), part, DrawingRules(small=2000 * MM))
    found = {((x + dx / 2) / MM, (y + dy / 2) / MM) for x, y, dx, dy in tabs}
    other_end = {(500.0, 50.0) if at == (900, 50) else at for at in middles}
    assert found in (set(middles), other_end)


def shaped(release: str = "R2000") -> bytes:
    """A plate of 200 x 100 with one rounded end and a round hole of 30 across."""
    doc = ezdxf.new(release)
    doc.units = 4
    space = doc.modelspace()
    quarter = tan(pi / 8)
    plate = [(10, 20, 0), (180, 20, quarter), (210, 50, 0), (210, 120, 0), (10, 120, 0)]
    hole = [(95, 70, 1), (125, 70, 1)]
    add = space.add_polyline2d if release == "R12" else space.add_lwpolyline
    for loop in (plate, hole):
        add(loop, format="xyb", close=True)
    text = StringIO()
    doc.write(text)
    return text.getvalue().encode()


@pytest.mark.parametrize("release", ["R12", "R2000"])
def test_an_outline_is_copied_with_its_hole(release: str) -> None:
    outline = read_outline(shaped(release), "plate.dxf", Unit.MM)
    assert (outline.length, outline.width) == pytest.approx((200, 100))
    part = RoutedPart(
        label="plate", box=(500 * MM, 300 * MM, 100 * MM, 200 * MM), turned=True, outline=outline
    )  # fmt: skip
    sheet = replace(random_sheet(0), parts=(part,))
    doc = ezdxf.read(StringIO(sheet_dxf(sheet, DrawingRules()).decode("cp1252")))
    lines = [e for e in doc.modelspace() if e.dxf.layer == "PARTS"]
    assert len(lines) == 2
    # A quarter turn counter-clockwise: what lay (u, v) from the low corner lies (100 - v, u) from it now.
    first = [tuple(p) for p in lines[0].get_points("xyb")]
    assert first[0] == pytest.approx((600, 300, 0)) and first[1] == pytest.approx((600, 470, tan(pi / 8)))
    assert first[2] == pytest.approx((570, 500, 0))
    assert tuple(lines[1].get_points("xyb")[0]) == pytest.approx((550, 385, 1))


def test_what_is_no_closed_polyline_is_named() -> None:
    doc = ezdxf.new()
    doc.modelspace().add_spline([(0, 0), (1, 1), (2, 0)])
    for text, words in ((_text(doc), "SPLINE"), ("no drawing", "not a drawing")):
        with pytest.raises(BadInput, match=words):
            read_outline(text.encode(), "x.dxf", Unit.MM)
    doc = ezdxf.new()
    doc.modelspace().add_lwpolyline([(0, 0), (1, 1), (2, 0)])
    with pytest.raises(BadInput, match="not closed"):
        read_outline(_text(doc).encode(), "x.dxf", Unit.MM)
    for x in (0, 10):
        doc.modelspace().add_lwpolyline([(x, 0), (x + 1, 1), (x + 2, 0)], close=True)
    doc.modelspace().delete_entity(doc.modelspace()[0])
    with pytest.raises(BadInput, match="more than one outline"):
        read_outline(_text(doc).encode(), "x.dxf", Unit.MM)


def _text(doc: ezdxf.document.Drawing) -> str:
    text = StringIO()
    doc.write(text)
    return text.getvalue()


def test_the_svg_has_the_sheet_to_scale() -> None:
    sheet = random_sheet(5)
    root = ElementTree.fromstring(sheet_svg(sheet, DrawingRules()))
    assert (root.get("width"), root.get("viewBox")) == ("2500mm", "0 -1250 2500 1250")
    (told,) = (e.text or "" for e in root if e.tag.endswith("}desc"))
    assert "2500 x 1250 mm" in told and "birch ply" in told
    # All that is written is seen: it begins within the view box.
    written = [e for e in root.iter() if e.tag.endswith("}text")]
    assert written and all(-1250 <= float(e.get("y") or 1) <= 0 for e in written)
    groups = {g.get("id"): g for g in root if g.tag.endswith("}g")}
    assert len(list(groups["PARTS"])) == len(sheet.parts)
    x, y, dx, _ = (v / MM for v in sheet.parts[0].box)
    first = next(iter(groups["PARTS"])).get("d") or ""
    low, high = first.removeprefix("M").split("L")[:2]
    assert [float(v) for v in low.split()] == pytest.approx([x, -y], abs=1e-5)
    assert [float(v) for v in high.split()] == pytest.approx([x + dx, -y], abs=1e-5)
