"""A job on the router from the yard: planned, stored, verified from the file, printed, drawn, cut, undone."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from io import BytesIO, StringIO
from math import pi
from pathlib import Path

import ezdxf
import pytest
from pypdf import PdfReader

from stockyard import yard as yards
from stockyard.cutlist.diff import diff
from stockyard.desk import costs, cutting, job_change, pulling, router, shop, stock
from stockyard.desk.ask_planner import Asked
from stockyard.desk.label_data import edge_labels_of, part_labels_of, pieces_to_label
from stockyard.desk.list_again import Again
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import plan_and_store
from stockyard.desk.print_job import Which, print_job
from stockyard.desk.questions import questions
from stockyard.desk.replan import plan_again
from stockyard.errors import BadInput, Refused
from stockyard.kinds import Method
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Unit
from stockyard.planning.limits import Limits
from stockyard.planning.sawing.aim import price
from stockyard.planning.sawing.report import facts
from stockyard.settings import Settings
from stockyard.yard import Yard, jobs, undo
from stockyard.yard.job_edit import Edit, edit_job
from stockyard.yard.materials import add_material
from stockyard.yard.model import Form, Grain, Job, JobPart, Kind, State, Storage
from stockyard.yard.pieces import Arrival, by_tag, shelve
from stockyard.yard.places import add_place
from stockyard.yard.planned import StoredPlan
from stockyard.yard.plans import release_plan, standing_plan
from stockyard.yard.together import join

PARTS = [
    JobPart(name="panel", count=4, length=600 * MM, width=400 * MM, materials=("ply",), grain=Grain.ANY),
    JobPart(name="shelf", count=1, length=500 * MM, width=300 * MM, materials=("mdf",), grain=Grain.ANY),
]
QUICK = Asked(limits=Limits(seconds=None, work=12), compare=False)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A yard whose ply goes on the router and whose mdf is sawn, with a planned job of both, made once."""
    path = tmp_path_factory.mktemp("routed") / "yard.db"
    settings = Settings(kerf=3 * MM, bit=6 * MM, keep_short_side=100 * MM, keep_area=20_000 * MM * MM)
    with yards.new(path, settings) as y:
        ply = add_material(
            y, "ply", Form.SHEET, "18 mm", 18 * MM, grain=False, density=680, method=Method.ROUTER
        )
        mdf = add_material(y, "mdf", Form.SHEET, "18 mm", 18 * MM, grain=False)
        add_place(y, "P1", Storage.FLAT)
        shelve(y, [Arrival(material_id=ply.id, kind=Kind.FULL, length=1250 * MM, width=1006 * MM, place="P1",
                           count=2, cost=50 * 10_000)])  # fmt: skip
        shelve(y, [Arrival(material_id=mdf.id, kind=Kind.FULL, length=1200 * MM, width=800 * MM, place="P1")])
        job = jobs.add_job(y, "hall", "4 panels", PARTS)
        plan_and_store(y, job, QUICK)
        y.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


def hall(y: Yard) -> Job:
    return jobs.job(y, "hall")


def plan_of(y: Yard) -> StoredPlan:
    plan = standing_plan(y, hall(y).id)
    assert plan is not None
    return plan


def words(data: bytes) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(BytesIO(data)).pages)


def test_each_material_goes_to_its_own_machine(y: Yard) -> None:
    sawn, routed = plan_of(y).layouts
    assert (sawn.method, {p.name for p in sawn.placed}) == (Method.SAW, {"shelf"})
    assert sawn.cuts
    assert (routed.method, [p.name for p in routed.placed]) == (Method.ROUTER, ["panel"] * 4)
    assert not routed.cuts
    problems = {q.problem.method: q.problem for q in questions(y, hall(y))}
    assert problems[Method.ROUTER].kerf == 6 * MM and problems[Method.SAW].kerf == 3 * MM


def test_the_stored_plan_is_verified_again_from_the_file(y: Yard) -> None:
    checked = check_yard(y)
    assert checked.differences == () and checked.verified == 1


@pytest.mark.parametrize(
    ("spoil", "fault"),
    [
        (
            "UPDATE layout_part SET x = x + 3200 WHERE name = 'panel' AND x > 0",
            "nearer than the kerf|reaches",
        ),
        ("UPDATE question SET method = 'saw'", "machine"),
        ("UPDATE layout_leftover SET length = length + 32000", "leftover"),
    ],
)
def test_a_routed_row_that_was_spoiled_by_hand_is_found(y: Yard, spoil: str, fault: str) -> None:
    y.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    path = y.path
    y.close()
    with closing(sqlite3.connect(path)) as db:
        triggers = db.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for (name,) in triggers:
            db.execute(f'DROP TRIGGER "{name}"')
        assert db.execute(spoil).rowcount
        db.commit()
    with yards.open(path) as again:
        import re

        told = [d.what for d in check_yard(again).differences]
        assert any(re.search(fault, what) and what.startswith("plan 1 of job hall") for what in told), told


def test_a_bit_changed_since_asks_for_another_plan_and_not_for_another_record(y: Yard) -> None:
    """The plan was verified for the bit it was made for; making it again takes the new one."""
    shop.set_settings(y, {"bit": "8"})
    assert check_yard(y).differences == ()
    answer = plan_again(y, hall(y), QUICK)
    assert {a.problem.kerf for a in answer.each} == {3 * MM, 8 * MM}


def test_papers_have_a_sheet_for_the_operator_and_no_cut_card_of_it(y: Yard) -> None:
    made = {d.name.partition(" - ")[2]: d.data for d in print_job(y, hall(y))}
    assert set(made) == {"pull list.pdf", "cut cards.pdf", "router sheets.pdf", "part labels.pdf"}
    sheet, routed = words(made["router sheets.pdf"]), plan_of(y).layouts[1]
    for text in (
        str(routed.tag),
        "panel, 4 of 4",
        "600 x 400 mm",
        "Zero is its lower left",
        "No tool",
    ):
        assert text in sheet
    assert all(str(left.tag) in sheet for left in routed.leftovers) and routed.leftovers
    assert str(routed.tag) in words(made["pull list.pdf"])
    assert str(routed.tag) not in words(made["cut cards.pdf"])
    (whole,) = (d.data for d in print_job(y, hall(y), one_file=True) if "papers" in d.name)
    assert "No tool paths" in words(whole) and str(plan_of(y).layouts[0].tag) in words(whole)
    assert len(print_job(y, hall(y), only=Which.ROUTER)) == 1


def test_the_drawing_has_the_parts_as_they_are_labelled(y: Yard) -> None:
    ((name, data),) = router.drawings(y, "hall", router.Drawn())
    assert name == f"hall - card 2 of 2 {plan_of(y).layouts[1].tag} mm.dxf"
    doc = ezdxf.read(StringIO(data.decode("cp1252")))
    assert not doc.audit().has_errors
    drawn = {e.dxf.text for e in doc.modelspace().query("TEXT")}
    labels = {
        f"{x.part}, {x.k} of {x.n}" for x in part_labels_of(y, hall(y), plan_of(y)) if x.part == "panel"
    }
    assert len(labels) == 4 and labels <= drawn
    shop.set_settings(y, {"drawing_unit": "in", "layers": "parts=outside", "origin": "centre"})
    ((name, data),) = router.drawings(y, "hall", router.Drawn())
    doc = ezdxf.read(StringIO(data.decode("cp1252")))
    xs = [p[0] for e in doc.modelspace() if e.dxf.layer == "outside" for p in e.get_points("xy")]
    assert name.endswith(" in.dxf") and min(xs) == pytest.approx(-625 / 25.4, abs=1e-6)
    ((name, _),) = router.drawings(y, "hall", router.Drawn(form="SVG"))
    assert name.endswith(".svg")
    with pytest.raises(BadInput, match="origin is"):
        router.drawings(y, "hall", router.Drawn(origin="middle"))


def test_what_is_cut_gives_parts_remains_and_scrap_and_is_undone_whole(y: Yard) -> None:
    routed = plan_of(y).layouts[1]
    tag, before = str(routed.tag), [tuple(r) for r in y.rows("SELECT * FROM piece ORDER BY tag")]
    pulling.pull(y, [tag])
    done = cutting.cut(y, tag)
    assert [(p.name, p.count) for p in done.parts] == [("panel", 4)]
    assert [p.tag for p in done.offcuts] == [left.tag for left in routed.leftovers]
    piece = by_tag(y, tag)
    given = sum(left.length * left.width for left in routed.leftovers)
    assert done.scrap == piece.area - 4 * 600 * 400 * MM * MM - given
    assert all(by_tag(y, p.tag).state is State.BENCH for p in done.offcuts)
    labels = edge_labels_of(y, pieces_to_label(y, [p.tag for p in done.offcuts]))
    assert [label.tag for label in labels] == [p.tag for p in done.offcuts]
    assert check_yard(y).differences == ()
    # Printed again afterwards, the sheet is as it was and says that it is cut.
    (again,) = print_job(y, hall(y), only=Which.ROUTER)
    assert "Cut already" in words(again.data) and "panel, 4 of 4" in words(again.data)
    undo.undo(y)
    undo.undo(y)
    assert [tuple(r) for r in y.rows("SELECT * FROM piece ORDER BY tag")] == before
    assert check_yard(y).differences == ()


def test_job_and_part_say_otherwise_than_their_material(y: Yard) -> None:
    def methods() -> dict[str, Method]:
        return {p.id: q.problem.method for q in questions(y, hall(y)) for p in q.problem.parts}

    assert methods() == {"panel": Method.ROUTER, "shelf": Method.SAW}
    done = job_change.change_job(y, "hall", job_change.Wishes(machine="router"))
    assert done.to_plan and "router" in done.lines[0]
    assert methods() == {"panel": Method.ROUTER, "shelf": Method.ROUTER}
    job_change.change_job(y, "hall", job_change.Wishes(machines={"panel": "saw"}))
    assert methods() == {"panel": Method.SAW, "shelf": Method.ROUTER}
    job_change.change_job(y, "hall", job_change.Wishes(machine="usual", machines={"panel": "usual"}))
    assert methods() == {"panel": Method.ROUTER, "shelf": Method.SAW}
    stock.change_material(y, "mdf", stock.MaterialFacts(method="router"))
    assert methods() == {"panel": Method.ROUTER, "shelf": Method.ROUTER}
    with pytest.raises(BadInput, match="say saw or router"):
        job_change.change_job(y, "hall", job_change.Wishes(machine="laser"))


def test_a_part_of_materials_of_both_is_sawn_and_boards_always_are(y: Yard) -> None:
    add_material(y, "oak", Form.BOARD, "25 mm", 25 * MM, grain=True)
    both = JobPart(name="lid", count=1, length=300 * MM, width=200 * MM, thickness_name="18 mm")
    rail = JobPart(name="rail", count=1, length=900 * MM, width=90 * MM, materials=("oak",))
    job = jobs.add_job(y, "box", "", [both, rail])
    assert {q.problem.method for q in questions(y, job)} == {Method.SAW}
    job = edit_job(y, job.id, Edit(kept=dict(enumerate(job.parts)), method=Method.ROUTER), "").job
    assert [(q.title, q.problem.method) for q in questions(y, job)] == [
        ("boards", Method.SAW), ("sheets on the router", Method.ROUTER),
    ]  # fmt: skip
    job_change.change_job(y, "box", job_change.Wishes(machines={"rail": "router"}))
    with pytest.raises(BadInput, match="rail is of boards"):
        questions(y, jobs.job(y, "box"))
    with pytest.raises(BadInput, match="boards are sawn"):
        stock.change_material(y, "oak", stock.MaterialFacts(method="router"))


def test_moved_to_the_saw_a_routed_card_does_not_stand(y: Yard) -> None:
    before = plan_of(y).layouts[1].number
    job_change.change_job(y, "hall", job_change.Wishes(machines={"panel": "saw"}))
    answer = plan_again(y, hall(y), QUICK)
    assert {a.problem.method for a in answer.each} == {Method.SAW}
    assert answer.cards is not None and before not in answer.cards.stand


def test_nothing_on_the_router_is_said_in_a_line(y: Yard) -> None:
    job = jobs.add_job(y, "low", "", [PARTS[1]])
    plan_and_store(y, job, QUICK)
    for ask in (
        lambda: router.drawings(y, "low", router.Drawn()),
        lambda: print_job(y, job, only=Which.ROUTER),
    ):
        with pytest.raises(Refused, match="router"):
            ask()


def test_a_shaped_part_is_kept_with_its_outline_and_drawn_so(y: Yard) -> None:
    doc = ezdxf.new("R2000")
    doc.units = 4
    doc.modelspace().add_lwpolyline([(10, 10), (610, 10), (610, 410), (10, 410)], close=True)
    doc.modelspace().add_lwpolyline([(100, 100, 1), (140, 100, 1)], format="xyb", close=True)
    text = StringIO()
    doc.write(text)
    wish = {"panel": (text.getvalue().encode(), "panel.dxf")}
    done = job_change.change_job(y, "hall", job_change.Wishes(outlines=wish))
    assert not done.to_plan and "outline" in done.lines[0]
    ((_, data),) = router.drawings(y, "hall", router.Drawn())
    drawn = ezdxf.read(StringIO(data.decode("cp1252"))).modelspace()
    assert sum(e.dxf.layer == "PARTS" for e in drawn) == 8
    # Its file is named on labels and on the operator's sheet; costs say how it is counted.
    labels = [x for x in part_labels_of(y, hall(y), plan_of(y)) if x.part == "panel"]
    assert [(x.shaped, x.outline) for x in labels] == [(True, "panel.dxf")] * 4
    (sheet,) = print_job(y, hall(y), only=Which.ROUTER)
    assert "shaped as in panel.dxf" in words(sheet.data)
    assert costs.shaped_notes(y) == ()
    (note,) = costs.shaped_notes(y, "hall")
    assert note.startswith("Shaped parts (panel) count as the rectangles they are cut from")
    pulling.pull(y, [str(plan_of(y).layouts[1].tag)])
    cutting.cut(y, str(plan_of(y).layouts[1].tag))
    assert costs.shaped_notes(y) == (note,) and costs.shaped_notes(y, month="1999-01") == ()
    undo.undo(y)
    undo.undo(y)
    # Planned again, the path has the hole of 40 across in each of the four panels.
    answer = plan_again(y, hall(y), replace(QUICK, anew=True))
    (routed,) = [a for a in answer.each if a.problem.method is Method.ROUTER]
    assert facts(routed.problem, routed.plan).path / MM == pytest.approx(4 * (2000 + 40 * pi), abs=0.01)
    assert check_yard(y).differences == ()
    with pytest.raises(BadInput, match="the part is 500 x 300"):
        job_change.change_job(y, "hall", job_change.Wishes(outlines={"shelf": wish["panel"]}))
    job_change.change_job(y, "hall", job_change.Wishes(outlines={"panel": (b"", "")}))
    assert hall(y).parts[0].outline == ""


def test_a_margin_keeps_parts_from_the_edges_of_offcuts_too(y: Yard) -> None:
    shop.set_settings(y, {"table_edge": "20"})
    for q in questions(y, hall(y)):
        wanted = 20 * MM if q.problem.method is Method.ROUTER else 0
        assert {edge for s in q.problem.stock for edge in s.edge_trim} == {wanted}


def test_settings_of_the_drawing_are_those_of_the_shop(y: Yard) -> None:
    rules = Settings(unit=Unit.INCH, sheet_along="y", tab_inside=200 * MM).drawing_rules
    assert (rules.unit, rules.along_y, rules.reach) == (Unit.INCH, True, 200 * MM)
    for name, text in (("layers", "holes=X"), ("origin", "left"), ("clamps", "60 wide"), ("bit", "0")):
        with pytest.raises(BadInput, match=name):
            shop.set_settings(y, {name: text})


def test_clamps_and_flaws_are_kept_clear_and_drawn(y: Yard) -> None:
    """A sheet clamped at its four corners: no part lies under a clamp, nor does the bit round it meet one."""
    clamps = "60 x 40 at 0, 0; 60 x 40 at 1190, 966; 60 x 40 at 1190, 0; 60 x 40 at 0, 966"
    shop.set_settings(y, {"clamps": clamps})
    plan_and_store(y, hall(y), replace(QUICK, anew=True), make=plan_again)
    plan = plan_of(y)
    routed = [x for x in plan.layouts if x.method is Method.ROUTER]
    assert sum(len(x.placed) for x in routed) == 4
    corners = [(0, 0), (1190, 966), (1190, 0), (0, 966)]
    for x in routed:
        for p in x.placed:
            dx, dy = (p.width, p.length) if p.turned else (p.length, p.width)
            for cx, cy in corners:
                apart = max(
                    p.x - (cx + 60) * MM, cx * MM - p.x - dx, p.y - (cy + 40) * MM, cy * MM - p.y - dy
                )
                assert apart >= 6 * MM
    assert check_yard(y).differences == ()
    for sheet in router.sheets_of_plan(y, hall(y)):
        assert len(sheet.clamps) == 4


def test_a_part_spoiled_at_the_router_is_planned_on_the_router_again(y: Yard) -> None:
    tag = str(plan_of(y).layouts[1].tag)
    pulling.pull(y, [tag])
    done = cutting.spoiled(y, tag, ["panel 2"], [])
    assert [(p.name, p.count) for p in done.parts] == [("panel", 3)] and ("panel", 1) in done.still
    plan_and_store(y, hall(y), QUICK, make=plan_again)
    again = [x for x in plan_of(y).layouts if x.method is Method.ROUTER]
    assert [[p.name for p in x.placed] for x in again] == [["panel"]]
    assert check_yard(y).differences == ()


def test_jobs_planned_together_each_go_to_their_own_machine(y: Yard) -> None:
    low = jobs.add_job(y, "low", "", [PARTS[1]])
    job_change.change_job(y, "low", job_change.Wishes(machine="router"))
    release_plan(y, plan_of(y).id)
    joined, _ = join(y, [hall(y).id, low.id])
    methods = {p.id: q.problem.method for q in questions(y, joined) for p in q.problem.parts}
    assert methods == {
        "hall: panel": Method.ROUTER, "hall: shelf": Method.SAW, "low: shelf": Method.ROUTER,
    }  # fmt: skip


def test_a_list_read_again_keeps_the_machine_and_the_shape_of_its_parts(y: Yard) -> None:
    """Only what the list says is changed."""
    job_change.change_job(y, "hall", job_change.Wishes(machines={"panel": "saw"}))
    job = hall(y)
    new = [replace(PARTS[0], count=5), PARTS[1]]
    again = Again(job, diff(job.parts, new))
    job_change.take_list(y, again, "5 panels")
    assert [(p.count, p.method) for p in hall(y).parts] == [(5, Method.SAW), (1, None)]


def test_a_part_narrower_than_the_bit_is_said_in_a_line(y: Yard) -> None:
    shop.set_settings(y, {"bit": "50", "bit_margin": "100"})
    jobs.add_job(y, "lath", "", [JobPart(name="lath", count=1, length=900 * MM, width=90 * MM,
                                         materials=("ply",))])  # fmt: skip
    with pytest.raises(BadInput, match=r"lath is narrower than the router's bit with its margin \(150 mm\)"):
        questions(y, jobs.job(y, "lath"))
    with pytest.raises(BadInput, match="one_pass"):
        shop.set_settings(y, {"one_pass": "1"})


def test_the_path_is_priced_in_the_yards_plans(y: Yard) -> None:
    """Where one pass cuts two edges, what faces counts once, in the price and in the time told.

    Four panels of 600 x 400 have 8 m round them; laid together they share at least two long sides.
    """
    shop.set_settings(y, {"one_pass": "1"})
    answer = plan_again(y, hall(y), replace(QUICK, anew=True))
    (routed,) = [a for a in answer.each if a.problem.method is Method.ROUTER]
    assert routed.problem.one_pass and routed.problem.effort.path > 0
    told = facts(routed.problem, routed.plan)
    assert told.path <= (8000 - 1200) * MM
    apart = replace(routed.problem, one_pass=False)
    assert facts(apart, routed.plan).path == 8000 * MM
    more = price(apart, routed.plan) - price(routed.problem, routed.plan)
    assert more == routed.problem.effort.path * (8000 * MM - told.path)
    each = y.settings.seconds
    assert facts(apart, routed.plan).seconds(each) > told.seconds(each)
    shop.set_settings(y, {"path_seconds": "0"})
    (free,) = [q.problem for q in questions(y, hall(y)) if q.problem.method is Method.ROUTER]
    assert free.effort.path == 0


@pytest.mark.parametrize("name", ["", " OUTSIDE", "a/b", "x" * 256, "LABELS"])
def test_layers_wanted_this_time_are_looked_at_too(name: str) -> None:
    with pytest.raises(BadInput, match=r"layer for (parts|labels): "):
        router.rules_for(Settings(), router.Drawn(layers=(("parts", name),)))
    rules, svg = router.rules_for(Settings(), router.Drawn(layers=(("parts", "OUTSIDE"),)))
    assert (rules.layers.parts, rules.layers.labels, svg) == ("OUTSIDE", "LABELS", False)
