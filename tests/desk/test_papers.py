"""From the yard to the papers: what is pulled from where, what comes off first, how the pieces are cut."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path

import pytest
from pypdf import PdfReader
from typer.testing import CliRunner

from stockyard import yard as yards
from stockyard.cli.main import build
from stockyard.desk.card_numbers import sawn_from
from stockyard.desk.file_names import file_stem
from stockyard.desk.label_data import part_labels_of
from stockyard.desk.papers import job_cards, papers_of
from stockyard.desk.plan_check import refuse_faults
from stockyard.desk.print_job import Which, print_job
from stockyard.desk.pull_walk import tell_apart
from stockyard.desk.stored_layouts import Answered, layouts_of, plan_to_store
from stockyard.errors import BadInput, Refused
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.measure import Unit
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Bound, Plan, Status
from stockyard.planning.problem import MONEY, NO_TRIM, Grain, Kind, Part, Problem, Stock, Trim
from stockyard.planning.sawing.finish import finish
from stockyard.planning.tree import Axis, Node, Pattern
from stockyard.printing.one_job import saw_pdf
from stockyard.saws import Machine
from stockyard.settings import Settings
from stockyard.yard import Yard, change_settings
from stockyard.yard.cutting import confirm_cut
from stockyard.yard.jobs import add_job
from stockyard.yard.materials import add_material, materials
from stockyard.yard.model import Form, Job, JobPart, Storage
from stockyard.yard.offers import add_price
from stockyard.yard.pieces import Arrival, at_place, by_tag, move, shelve
from stockyard.yard.places import add_place
from stockyard.yard.plans import release_plan, standing_plan, store_plan
from stockyard.yard.pulling import pull, report_gone

KERF = 3 * MM
PLY, BOARD = "birch ply 18 mm", "larch 25 mm"


@dataclass(frozen=True)
class Shop:
    """An open yard with one planned job, its file, and the tags of its pieces from the top of the stack."""

    yard: Yard
    file: Path
    job: Job
    sheets: tuple[str, ...]
    offcut: str
    board: str


def _stock(name: str, kind: Kind, material: str, length: int, width: int) -> Stock:
    return Stock(id=name, kind=kind, material=material, length=length * MM, width=width * MM, grain=True)


def _split(length: int, width: int, first: int, parts: tuple[int, ...]) -> Node:
    """A piece crosscut at `first` as often as there are parts, with what is left as a rest."""
    used = len(parts) * (first * MM + KERF)
    cells = tuple(Node(first * MM, width * MM, part=p) for p in parts)
    return Node(
        length * MM, width * MM, axis=Axis.CROSSCUT, children=(*cells, Node(length * MM - used, width * MM))
    )


def _planned(sheet: str, offcut: str, board: str) -> tuple[Problem, Plan]:
    """Two sides from a sheet, a shelf from an offcut, rails from a board, a back from a sheet to buy."""
    problem = Problem(
        stock=(
            _stock(sheet, Kind.FULL, PLY, 2440, 1220),
            _stock(offcut, Kind.OFFCUT, PLY, 800, 400),
            _stock(board, Kind.FULL, BOARD, 3000, 90),
            replace(_stock("buy", Kind.FULL, PLY, 2440, 1220), count=None, cost=60 * MONEY),
        ),
        parts=(
            Part(id="side", length=700 * MM, width=1220 * MM, count=2, grain=Grain.ANY),
            Part(id="shelf", length=500 * MM, width=400 * MM),
            Part(id="rail", length=900 * MM, width=90 * MM, count=3),
            Part(id="back", length=2000 * MM, width=1220 * MM),
        ),
        unit=Unit.MM,
        kerf=KERF,
    )
    trees = (
        _split(2440, 1220, 700, (0, 0)),
        _split(800, 400, 500, (1,)),
        _split(3000, 90, 900, (2, 2, 2)),
        _split(2440, 1220, 2000, (3,)),
    )
    patterns = [Pattern(n, tree) for n, tree in enumerate(trees)]
    return problem, finish(problem, patterns, bound=Bound(0, 0, ""), status=Status.FEASIBLE)


def _store(y: Yard, job: Job, problem: Problem, plan: Plan) -> None:
    """Store an answer as the desk does."""
    ids = {m.title: m.id for m in materials(y)}
    new = plan_to_store([Answered(problem, plan, ids)], plan.status, y.settings, Limits(), 0)
    store_plan(y, job.id, new, verify=refuse_faults)


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    file = tmp_path / "yard.db"
    settings = Settings(kerf=KERF, currency="$")
    with yards.new(file, settings, clock=lambda: "2031-03-10T09:00:00Z") as y:
        ply = add_material(y, "birch ply", Form.SHEET, "18 mm", 18 * MM, grain=True, density=685)
        larch = add_material(y, "larch", Form.BOARD, "25 mm", 25 * MM, grain=True)
        add_price(y, ply.id, 2440 * MM, 1220 * MM, 60 * MONEY, "Quay Timber", since="2031-01-01T00:00:00Z")
        add_price(y, ply.id, 2440 * MM, 1220 * MM, 66 * MONEY, "Old Mill", since="2031-01-01T00:00:00Z")
        add_place(y, "P1", Storage.FLAT, length=2600 * MM, width=1300 * MM)
        add_place(y, "S1", Storage.UPRIGHT, length=1500 * MM, height=1300 * MM)
        add_place(y, "B1", Storage.BRACKETS, length=3500 * MM)

        def put(
            material: int, kind: Kind, length: int, width: int, place: str, count: int = 1
        ) -> tuple[str, ...]:
            arrival = Arrival(
                material_id=material,
                kind=kind,
                length=length * MM,
                width=width * MM,
                place=place,
                count=count,
            )
            return tuple(p.tag for p in shelve(y, [arrival]))

        sheets = put(ply.id, Kind.FULL, 2440, 1220, "P1", 3)[::-1]
        (offcut,) = put(ply.id, Kind.OFFCUT, 800, 400, "S1")
        put(ply.id, Kind.OFFCUT, 700, 390, "S1")
        (board,) = put(larch.id, Kind.FULL, 3000, 90, "B1")
        names = (
            ("side", 700, 1220, 2),
            ("shelf", 500, 400, 1),
            ("rail", 900, 90, 3),
            ("back", 2000, 1220, 1),
        )
        parts = [JobPart(name=n, length=a * MM, width=b * MM, count=c) for n, a, b, c in names]
        job = add_job(y, "Porch", "text", parts)
        problem, plan = _planned(sheets[2], offcut, board)
        _store(y, job, problem, plan)
        yield Shop(y, file, job, sheets, offcut, board)


def test_a_stored_plan_reads_back_to_the_tick(shop: Shop) -> None:
    _, plan = _planned(shop.sheets[2], shop.offcut, shop.board)
    stored = standing_plan(shop.yard, shop.job.id)
    assert stored is not None
    assert layouts_of(stored.layouts) == plan.layouts


def test_the_walk_digs_and_puts_back(shop: Shop) -> None:
    walk = papers_of(shop.yard, shop.job).pull_list
    assert [stop.place for stop in walk.stops] == ["P1", "S1", "B1"]
    stack = walk.stops[0]
    (entry,) = stack.entries
    assert entry.tag == shop.sheets[2]
    assert [lying.tag for lying in entry.on_top] == list(shop.sheets[:2])
    assert stack.put_back == f"Put back on top in this order: {shop.sheets[1]}, {shop.sheets[0]}."
    assert entry.tell_apart == "3rd from the top; any of these 3 will do: scan the one you take"
    # 2440 x 1220 x 18 mm at 685 kg/m³ is 36.7 kg: over two people's guide figure of 33.3 kg (HSE L23).
    assert entry.lift.weight == 36_704
    assert entry.lift.people == 3
    assert "HSE" in entry.lift.source


def test_a_card_says_what_its_pull_list_says_of_a_piece_too_heavy_for_two(shop: Shop) -> None:
    cards = {card.tag: card for card in papers_of(shop.yard, shop.job).cards}
    assert cards[shop.sheets[2]].heavy.startswith("37 kg: three people")
    assert [card.heavy for tag, card in cards.items() if tag in (shop.offcut, shop.board)] == ["", ""]


def test_a_card_knows_what_the_shop_trims_off_as_the_planner_does(shop: Shop) -> None:
    """Else the end of a board would be a trim in the plan and a setting on its card."""
    change_settings(shop.yard, replace(shop.yard.settings, edge_trim=5 * MM, board_end_trim=20 * MM))
    stored = standing_plan(shop.yard, shop.job.id)
    assert stored is not None
    tags = [x.tag for x in stored.layouts]
    trims = dict(zip(tags, (s.edge_trim for s in sawn_from(shop.yard, stored.layouts)), strict=True))
    board = Trim(x_low=20 * MM, x_high=20 * MM)
    assert trims[shop.sheets[2]] == trims[None] == Trim.all_round(5 * MM), "the sheet to buy as well"
    assert (trims[shop.offcut], trims[shop.board]) == (NO_TRIM, board)


def test_a_shop_without_a_guided_saw_is_not_sent_to_one(shop: Shop) -> None:
    assert {card.guide for card in papers_of(shop.yard, shop.job).cards} == {"guided saw"}
    change_settings(shop.yard, replace(shop.yard.settings, guide_length=0))
    assert {card.guide for card in papers_of(shop.yard, shop.job).cards} == {"hand-held saw"}


def test_twins_that_are_all_wanted_are_not_to_be_chosen_among(shop: Shop) -> None:
    own = by_tag(shop.yard, shop.sheets[0])
    (material,) = (m for m in materials(shop.yard) if m.id == own.material_id)
    twins = [replace(own, tag=tag) for tag in ("TWIN1", "TWIN2")]

    def told(*wanted: str) -> str:
        held = [own, *twins[: max(1, len(wanted) - 1)]]
        return tell_apart(own, held, {material.id: material}, Unit.MM, flat=False, wanted=wanted)

    assert told(own.tag, "TWIN1") == "both of these are wanted"
    assert told(own.tag, "TWIN1", "TWIN2") == "all 3 of these are wanted"
    assert told(own.tag, "TWIN2", "another") == "any of these 3 will do: scan the one you take"


def test_pieces_are_told_apart(shop: Shop) -> None:
    walk = papers_of(shop.yard, shop.job).pull_list
    assert walk.stops[1].entries[0].tell_apart == f"the longest of 2 {PLY}"
    assert walk.stops[2].entries[0].tell_apart == "nothing else there"
    assert walk.stops[2].entries[0].lift.weight is None


def test_what_to_buy_is_where_it_costs_least(shop: Shop) -> None:
    (line,) = papers_of(shop.yard, shop.job).pull_list.buy
    assert (line.count, line.material, line.price, line.supplier) == (1, PLY, "$60.00", "Quay Timber")


def test_what_is_at_the_saw_is_not_walked_for(shop: Shop) -> None:
    pull(shop.yard, [shop.offcut])
    papers = papers_of(shop.yard, shop.job)
    assert [stop.place for stop in papers.pull_list.stops] == ["P1", "B1"]
    assert papers.pull_list.cautions == (f"At the saw already: {shop.offcut}.",)
    where = {card.tag: card.place for card in papers.cards}
    assert where == {
        shop.sheets[2]: "from P1",
        shop.offcut: "at the saw",
        shop.board: "from B1",
        "": "still to buy",
    }
    confirm_cut(shop.yard, shop.offcut)
    assert {card.tag: card.place for card in job_cards(shop.yard, shop.job)}[shop.offcut] == "cut already"


def test_a_piece_moved_is_walked_to(shop: Shop) -> None:
    move(shop.yard, [shop.sheets[2]], "S1")
    stop = papers_of(shop.yard, shop.job).pull_list.stops[0]
    assert (stop.place, stop.put_back) == ("S1", "")
    assert all(entry.on_top == () for entry in stop.entries)


def test_leftovers_carry_their_new_tags_and_a_place(shop: Shop) -> None:
    stored = standing_plan(shop.yard, shop.job.id)
    assert stored is not None
    tags = {left.tag for x in stored.layouts for left in x.leftovers}
    cards = job_cards(shop.yard, shop.job)
    assert {left.tag for card in cards for left in card.leftovers} == tags
    assert {left.place for card in cards for left in card.leftovers} <= {"P1", "S1", "B1", ""}
    assert any(left.place for card in cards for left in card.leftovers)


def test_a_part_may_be_called_left(shop: Shop) -> None:
    """The plan then calls its leftovers otherwise, and so do the cards."""
    names = ("left", "right")
    problem = Problem(
        stock=(_stock(shop.sheets[0], Kind.FULL, PLY, 2440, 1220),),
        parts=tuple(Part(id=name, length=700 * MM, width=1220 * MM, grain=Grain.ANY) for name in names),
        unit=Unit.MM,
        kerf=KERF,
    )
    pattern = Pattern(0, _split(2440, 1220, 700, (0, 1)))
    plan = finish(problem, [pattern], bound=Bound(0, 0, ""), status=Status.FEASIBLE)
    wanted = [JobPart(name=name, count=1, length=700 * MM, width=1220 * MM) for name in names]
    job = add_job(shop.yard, "hands", "hands", wanted)
    _store(shop.yard, job, problem, plan)
    (card,) = job_cards(shop.yard, job)
    assert [left.name for left in card.leftovers] == ["leftover 1"]


def test_the_next_card_knows_where_the_fence_stands(shop: Shop) -> None:
    papers = papers_of(shop.yard, shop.job)
    steps = {(card.number, step.number): step for card in papers.cards for step in card.steps}
    last: dict[object, tuple[int, int]] = {}
    moves = 0
    for turn in papers.work or steps:
        step = steps[turn]
        if step.trim:
            continue
        fence, setting = last.get(step.machine, (0, 0))
        assert step.stays == (fence == step.fence)
        moves += fence != step.fence
        assert step.setting == (setting if fence == step.fence else moves)
        last[step.machine] = step.fence, step.setting
    assert 0 < moves < len(steps)


def test_the_guided_saw_is_called_what_the_shop_calls_it(shop: Shop) -> None:
    change_settings(
        shop.yard, replace(shop.yard.settings, guide_name="rail saw", stop_length=0, stop_reach=0)
    )
    papers = papers_of(shop.yard, shop.job)
    guided = [s for card in papers.cards for s in card.steps if s.machine is Machine.GUIDE]
    assert guided
    assert {card.guide for card in papers.cards} == {"rail saw"}
    text = " ".join(page.extract_text() for page in PdfReader(BytesIO(saw_pdf(papers))).pages)
    assert "rail saw" in text
    assert "guided saw" not in text


@pytest.mark.parametrize("name", ["", "x", "saw\n2", "=cmd", "a" * 25])
def test_the_name_of_the_guided_saw_is_a_few_words(name: str) -> None:
    with pytest.raises(BadInput, match="guide_name"):
        replace(Settings(), guide_name=name)


def fractions_printed(shop: Shop) -> set[int]:
    """Return what the fractions on all papers of the job are of."""
    texts = [
        page.extract_text()
        for paper in print_job(shop.yard, shop.job)
        for page in PdfReader(BytesIO(paper.data)).pages
    ]
    return {int(bottom) for bottom in re.findall(r"\d ?/(\d+)", " ".join(texts))}


def test_every_paper_rounds_as_the_fence_is_set(shop: Shop) -> None:
    """Millimetre parts in a shop of inches that sets its fence to eighths: no finer fraction anywhere."""
    settings = replace(shop.yard.settings, unit=Unit.INCH, fence=8, label="letter-30")
    change_settings(shop.yard, settings)
    below = fractions_printed(shop)
    assert below and below <= {2, 4, 8}
    change_settings(shop.yard, replace(settings, fence=64))
    assert {32, 64} & fractions_printed(shop)


def test_what_is_printed_again_keeps_its_number(shop: Shop) -> None:
    """Cards and labels of a piece say the same numbers before and after another piece was cut."""
    before = {card.tag: card.parts for card in job_cards(shop.yard, shop.job)}
    plan = standing_plan(shop.yard, shop.job.id)
    assert plan is not None
    labels = {label.piece: [] for label in part_labels_of(shop.yard, shop.job, plan)}
    for label in part_labels_of(shop.yard, shop.job, plan):
        labels[label.piece].append((label.part, label.k, label.n))
    assert {tag: [(p.line, p.number, p.of) for p in parts] for tag, parts in before.items()} == labels
    pull(shop.yard, [shop.offcut])
    confirm_cut(shop.yard, shop.offcut)
    assert {card.tag: card.parts for card in job_cards(shop.yard, shop.job)} == before
    again = part_labels_of(shop.yard, shop.job, plan)
    assert [(label.part, label.k, label.n) for label in again] == [
        one for tag, ones in labels.items() if tag != shop.offcut for one in ones
    ]


def test_another_kerf_since_the_plan_is_refused(shop: Shop) -> None:
    change_settings(shop.yard, replace(shop.yard.settings, kerf=2 * MM))
    with pytest.raises(Refused, match="another kerf"):
        papers_of(shop.yard, shop.job)


def test_no_papers_without_a_plan_that_holds(shop: Shop) -> None:
    report_gone(shop.yard, shop.board, "split")
    with pytest.raises(Refused, match=r"no longer holds.*split"):
        papers_of(shop.yard, shop.job)
    plan = standing_plan(shop.yard, shop.job.id)
    assert plan is not None
    release_plan(shop.yard, plan.id)
    with pytest.raises(Refused, match="no plan yet"):
        papers_of(shop.yard, shop.job)


def test_the_papers_of_a_finished_job_are_printed_again(shop: Shop) -> None:
    (bought,) = shelve(
        shop.yard,
        [Arrival(material_id=1, kind=Kind.FULL, length=2440 * MM, width=1220 * MM, place="P1")],
    )
    before = papers_of(shop.yard, shop.job)
    pull(shop.yard, [shop.sheets[2], shop.offcut, shop.board])
    for tag in (shop.sheets[2], shop.offcut, shop.board):
        confirm_cut(shop.yard, tag)
    pull(shop.yard, [bought.tag], shop.job.id)
    confirm_cut(shop.yard, bought.tag)
    assert standing_plan(shop.yard, shop.job.id) is None
    again = papers_of(shop.yard, shop.job)
    assert {card.place for card in again.cards} == {"cut already"}
    assert [card.steps for card in again.cards] == [card.steps for card in before.cards]
    assert again.pull_list.date.endswith(", done")
    assert again.pull_list.stops == ()
    assert len(print_job(shop.yard, shop.job)) == 3


def test_papers_are_made_each_alone_or_in_one(shop: Shop) -> None:
    each = print_job(shop.yard, shop.job)
    assert [p.name for p in each] == [
        "Porch - pull list.pdf", "Porch - cut cards.pdf", "Porch - part labels.pdf"
    ]  # fmt: skip
    one, _ = print_job(shop.yard, shop.job, one_file=True, size="letter")
    pages = PdfReader(BytesIO(one.data)).pages
    assert len(pages) == sum(len(PdfReader(BytesIO(p.data)).pages) for p in each[:2])
    assert tuple(pages[0].mediabox[2:]) == (612, 792)
    (only,) = print_job(shop.yard, shop.job, only=Which.CARDS)
    assert only.name == "Porch - cut cards.pdf"


def test_a_folder_that_cannot_be_is_said(shop: Shop) -> None:
    code, _, error = run(shop, "papers", "Porch", "--out", str(shop.file / "under a file"))
    assert code == 2 and "cannot use the folder" in error


def test_a_name_becomes_a_file_name_of_its_own(shop: Shop) -> None:
    names = ["hall/shelf", "hall-shelf", "hall?shelf", 'Kim: "den" 1/2', "...", "hall-shelf (job 1)", "Küche"]
    part = JobPart(name="side", count=1, length=1, width=1)
    stems = [file_stem(add_job(shop.yard, name, "x", [part])) for name in names]
    assert stems[1] == "hall-shelf"
    assert stems[6] == "Küche"
    assert len({s.casefold() for s in stems}) == len(names)
    for stem in stems:
        assert not set(stem) & set('<>:"/\\|?*')
        assert stem.strip(" .") == stem


def run(shop: Shop, *words: str) -> tuple[int, str, str]:
    done = CliRunner().invoke(build(), [*words, "--yard", str(shop.file)])
    return done.exit_code, done.stdout, done.stderr


def test_the_commands(shop: Shop, tmp_path: Path) -> None:
    code, out, _ = run(shop, "papers", "Porch", "--out", str(tmp_path), "--only", "pull")
    assert code == 0
    assert Path(out.strip()).read_bytes().startswith(b"%PDF")
    code, out, _ = run(shop, "draw", "Porch", shop.board)
    assert code == 0
    assert "rail, 1 of 3" in out and "cross " in out and "→ rail, 1–3 of 3" in out
    code, out, _ = run(shop, "draw", "Porch", "1", "--ascii")
    assert code == 0 and out.isascii()
    assert run(shop, "draw", "Porch", shop.board, "--svg", str(tmp_path / "a.svg"))[0] == 0
    assert (tmp_path / "a.svg").read_text(encoding="utf-8").startswith("<svg")


def test_the_walk_on_the_screen(shop: Shop) -> None:
    code, out, _ = run(shop, "pull-list", "Porch")
    assert code == 0
    for words in (
        "P1",
        "first lift off 2",
        shop.sheets[2],
        "Put back on top",
        "S1",
        "B1",
        "BUY",
        "$60.00 each",
    ):
        out = out[out.index(words) :]
    assert run(shop, "pull-list", "Porch", "--tags")[1].split() == [shop.sheets[2], shop.offcut, shop.board]
    assert json.loads(run(shop, "pull-list", "Porch", "--json")[1])["stops"][0]["place"] == "P1"
    pull(shop.yard, [shop.offcut, shop.board])
    confirm_cut(shop.yard, shop.board)
    assert run(shop, "pull-list", "Porch", "--tags")[1].split() == [shop.sheets[2]]
    every = run(shop, "pull-list", "Porch", "--tags", "--all")[1].split()
    assert sorted(every) == sorted([shop.sheets[2], shop.offcut])


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("papers", "Porch", "--only", "all"), 2, "say pull, cards, router, labels"),
        (("papers", "Porch", "--paper", "a5"), 2, "letter or a4"),
        (("papers", "Attic"), 2, "no job 'Attic'"),
        (("draw", "Porch", "9"), 2, "not in this plan"),
        (("draw", "Porch", "--svg", "x.svg"), 2, "one piece"),
    ],
)
def test_what_cannot_be_done_is_one_line(shop: Shop, words: tuple[str, ...], code: int, says: str) -> None:
    got, _, error = run(shop, *words)
    assert (got, error.count("\n")) == (code, 1)
    assert says in error


def test_a_piece_is_told_apart_by_a_side_that_no_other_has(shop: Shop) -> None:
    """Of two equally long ones neither is the longest; then the width tells, and last the other's size."""
    known = {m.id: m for m in materials(shop.yard)}
    (own,) = [p for p in at_place(shop.yard, "S1") if p.tag == shop.offcut]

    def told(*others: tuple[int, int]) -> str:
        lying = [
            replace(own, tag=f"T{n}", length=length * MM, width=width * MM)
            for n, (length, width) in enumerate(others)
        ]
        return tell_apart(own, [own, *lying], known, Unit.MM, flat=False)

    long, wide = own.length // MM, own.width // MM
    assert told((long, wide - 50)) == f"the widest of 2 {PLY}"
    assert told((long, wide + 50), (long, wide + 90)) == f"the narrowest of 3 {PLY}"
    assert told((long - 1, wide)) == f"the longest of 2 {PLY}"
    assert told((long + 1, wide), (long + 2, wide)) == f"the shortest of 3 {PLY}"
    assert told((long + 10, wide), (long - 90, wide)) == f"not T0, which is {long + 10} × {wide}"
    # Nearest is 30 shorter and 5 wider, not 10 longer and 50 narrower; nor is 40 longer, 10 narrower.
    near = f"which is {long - 30} × {wide + 5}"
    assert told((long + 10, wide - 50), (long - 30, wide + 5)) == f"not T1, {near}"
    assert told((long - 30, wide + 5), (long + 40, wide - 10)) == f"not T0, {near}"
    assert told((long, wide), (long, wide)) == "3 of one size: go by the tag"


def test_only_a_whole_sheet_is_full_on_its_card(shop: Shop) -> None:
    """A board is none, however long; nor is an offcut."""
    known = {m.id: m for m in materials(shop.yard)}
    cards = papers_of(shop.yard, shop.job).cards
    for card in cards:
        piece = by_tag(shop.yard, card.tag) if card.tag else None
        sheet = known[piece.material_id].form is Form.SHEET if piece else True
        assert card.full is (sheet and (piece is None or piece.kind is Kind.FULL)), card.tag
    assert {card.full for card in cards} == {True, False}
