"""Plans verified from the record alone: as stored, after an upgrade, and when a row was spoiled by hand."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from stockyard import yard as yards
from stockyard.desk import plan_check
from stockyard.desk.ask_planner import Asked
from stockyard.desk.papers import papers_of
from stockyard.desk.plan_check import Checked, check_yard, refuse_faults
from stockyard.desk.plan_job import Answer, keep, plan_and_store, plan_job
from stockyard.desk.stored_layouts import answers_of, plan_to_store
from stockyard.errors import Refused
from stockyard.kinds import Kind
from stockyard.measure import TICKS_PER_MM as MM
from stockyard.planning.limits import Limits
from stockyard.planning.plan import Status
from stockyard.planning.verify import faults
from stockyard.settings import Settings
from stockyard.yard import Yard, jobs, plans, pulling, undo
from stockyard.yard.check import Difference, Mend
from stockyard.yard.cutting import confirm_cut
from stockyard.yard.model import JobPart, State
from stockyard.yard.pieces import Arrival, by_tag, shelve
from stockyard.yard.plan_rows import questions_of
from stockyard.yard.planned import StoredPlan
from tests.yard.keep_step import KEPT, planned_yard
from tests.yard.shop import ticking_clock

OLD = KEPT / "plans-3.db"
QUICK = Asked(limits=Limits(seconds=None, work=20), compare=False)


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A yard with plans of sheets and boards, made once."""
    path = tmp_path_factory.mktemp("made") / "yard.db"
    with yards.new(path, Settings(), clock=ticking_clock()) as y:  # type: ignore[arg-type]
        planned_yard(y)
        y.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    return path


@pytest.fixture
def shop(made: Path, tmp_path: Path) -> Iterator[Yard]:
    shutil.copy(made, tmp_path / "yard.db")
    with yards.open(tmp_path / "yard.db") as y:
        yield y


@pytest.fixture(scope="module")
def brought_up(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A yard from before plans were kept whole, brought up to date once."""
    path = tmp_path_factory.mktemp("old") / "yard.db"
    shutil.copy(OLD, path)
    with yards.open(path):
        return path


@pytest.fixture
def old(brought_up: Path, tmp_path: Path) -> Iterator[Yard]:
    shutil.copy(brought_up, tmp_path / "yard.db")
    with yards.open(tmp_path / "yard.db") as y:
        yield y


def standing(y: Yard, name: str) -> StoredPlan:
    plan = plans.standing_plan(y, jobs.job(y, name).id)
    assert plan is not None
    return plan


def test_what_is_stored_is_what_was_verified(shop: Yard) -> None:
    """Every question comes back as the same problem and plan, to the tick, and holds under its own rule."""
    job = jobs.job(shop, "wardrobe")
    answer = plan_job(shop, job, QUICK)
    stored = keep(shop, answer)
    back = [a for a, _ in answers_of(stored.layouts, questions_of(shop, stored.id))]
    assert len(back) == 2
    assert [(a.problem, a.plan) for a in back] == [(a.problem, a.plan) for a in answer.each]
    assert [faults(a.problem, a.plan) for a in back] == [(), ()]
    # Sheets and boards keep other leftovers: one rule for both would refuse what is stored.
    assert back[0].problem.worth != back[1].problem.worth
    assert [x.number for x in stored.layouts] == list(range(1, len(stored.layouts) + 1))
    assert any(x.tag is None for x in stored.layouts) and any(x.leftovers for x in stored.layouts)


def test_how_a_plan_was_made_is_kept(shop: Yard) -> None:
    asked = replace(QUICK, seed=7, limits=Limits(seconds=1.5, work=20))
    _, stored = plan_and_store(shop, jobs.job(shop, "wardrobe"), asked)
    making = plans.plan_by_id(shop, stored.id).making
    assert making is not None
    assert (making.kerf, making.seed, making.time_limit, making.work_limit) == (3 * MM, 7, 1500, 20)
    assert making.program == "0.1.0"
    assert '"edge_trim": 0' in making.settings and '"currency": "EUR"' in making.settings


def test_each_plan_that_stands_is_verified_again(shop: Yard) -> None:
    checked = check_yard(shop)
    assert checked == Checked((), 3, ())


def _spoil(y: Yard, *statements: str) -> Checked:
    """Change rows behind the back of ledger and rules, and check what is left of the yard."""
    path = y.path.with_name("spoiled.db")
    y.connection.execute("VACUUM INTO ?", (str(path),))
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall():
            db.execute(f'DROP TRIGGER "{name}"')
        for statement in statements:
            assert db.execute(statement).rowcount == 1
    with yards.open(path) as spoiled:
        return check_yard(spoiled)


CUT = "(SELECT min(c.id) FROM layout_cut c JOIN layout l ON l.id = c.layout_id WHERE l.plan_id = {plan})"
SPOILED = {
    "a cut": (
        f"UPDATE layout_cut SET at = at + 1 WHERE id = {CUT}",
        "the fence is set",
    ),
    "a direction": (
        f"UPDATE layout_cut SET direction = iif(direction = 'rip', 'crosscut', 'rip') WHERE id = {CUT}",
        "does not lie on the bench",
    ),
    "a part": (
        "UPDATE layout_part SET x = x + 1 WHERE id = (SELECT min(p.id) FROM layout_part p"
        " JOIN layout l ON l.id = p.layout_id WHERE l.plan_id = {plan})",
        "does not lie on the bench",
    ),
    "a leftover": (
        "UPDATE layout_leftover SET width = width - 1 WHERE id = (SELECT min(o.id) FROM layout_leftover o"
        " JOIN layout l ON l.id = o.layout_id WHERE l.plan_id = {plan})",
        "leftover",
    ),
    "the kerf": ("UPDATE plan SET kerf = kerf - 1 WHERE id = {plan}", "another kerf"),
    "a status": ("UPDATE plan SET status = 'short' WHERE id = {plan}", "says short"),
    "a bound": (
        "UPDATE question SET bound_cost = bound_cost + 1 WHERE plan_id = {plan} AND number = 1",
        "the bound on money",
    ),
    "a material": (
        "UPDATE layout SET material_id = 2 WHERE plan_id = {plan} AND number = 1",
        "of another material",
    ),
    "a size": ("UPDATE layout SET length = length + 1 WHERE plan_id = {plan} AND number = 1", "another size"),
    "a question": (
        "UPDATE layout SET question_id = NULL WHERE plan_id = {plan} AND number = 1",
        "no question",
    ),
    "a stock row": (
        "UPDATE layout SET stock = 'nothing' WHERE plan_id = {plan} AND number = 1",
        "no such stock",
    ),
}


@pytest.mark.parametrize("what", SPOILED)
def test_a_row_that_was_spoiled_is_found(shop: Yard, what: str) -> None:
    statement, says = SPOILED[what]
    plan = standing(shop, "wardrobe")
    found = _spoil(shop, statement.format(plan=plan.id)).differences
    assert [d for d in found if d.what.startswith("plan 1 of job wardrobe") and says in d.what]
    assert not [d for d in found if d.what.startswith("plan 1 of job bench")]


def test_a_problem_that_cannot_be_read_is_said(shop: Yard) -> None:
    plan = standing(shop, "wardrobe")
    found = _spoil(
        shop,
        f"UPDATE document SET body = replace(body, '\"length\"', '\"lenght\"') WHERE digest ="
        f" (SELECT problem FROM question WHERE plan_id = {plan.id} AND number = 1)",
    ).differences
    assert any("cannot be read: Stock has no lenght" in d.what for d in found)


def test_a_plan_that_does_not_hold_is_not_stored(shop: Yard) -> None:
    """What the tables would hold is verified before it is kept: a fault rolls the whole deed back."""
    job = jobs.job(shop, "wardrobe")
    before = standing(shop, "wardrobe")
    answer: Answer = plan_job(shop, job, QUICK)
    new = plan_to_store(answer.each, Status.FEASIBLE, shop.settings, QUICK.limits, 0)
    cut = new.layouts[0].cuts[0]
    wrong = replace(new.layouts[0], cuts=(replace(cut, at=cut.at + 1), *new.layouts[0].cuts[1:]))
    spoiled = replace(new, layouts=(wrong, *new.layouts[1:]))
    with pytest.raises(Refused, match="failed its check and is not kept"):
        plans.store_plan(shop, job.id, spoiled, verify=refuse_faults, replaces=before.id)
    assert standing(shop, "wardrobe") == before
    assert check_yard(shop).differences == ()


def test_older_plans_are_not_called_wrong(old: Yard) -> None:
    checked = check_yard(old)
    assert (checked.differences, checked.verified) == ((), 0)
    assert [note.partition(" was made")[0] for note in checked.notes] == [
        "plan 1 of job bench", "plan 1 of job shelf", "plan 1 of job wardrobe",
    ]  # fmt: skip
    assert all("made before plans were kept whole" in note for note in checked.notes)


def test_older_plans_still_give_papers_and_cuts_and_can_be_undone(old: Yard) -> None:
    job = jobs.job(old, "wardrobe")
    cards = papers_of(old, job).cards
    assert len(cards) == 7 and sum(len(c.parts) for c in cards) == 45
    assert all(c.steps for c in cards)
    for name in ("bench", "wardrobe"):
        wanted = [p.tag for p in pulling.to_pull(old, jobs.job(old, name).id)]
        pulling.pull(old, wanted)
    tag = next(c.tag for c in cards if c.leftovers and c.tag)
    expected = next(c for c in cards if c.tag == tag).leftovers
    done = confirm_cut(old, tag)
    assert {p.tag for p in done.offcuts} == {left.tag for left in expected}
    undo.undo(old)
    assert by_tag(old, tag).state is State.PULLED
    assert check_yard(old).differences == ()


def test_the_deed_that_made_an_older_plan_can_be_undone(old: Yard) -> None:
    plan = standing(old, "wardrobe")
    undo.undo(old)
    assert plans.standing_plan(old, plan.job_id) is None
    undo.undo(old, old.one("SELECT max(id) FROM deed"))
    assert standing(old, "wardrobe") == plan
    assert check_yard(old).differences == ()


@pytest.mark.parametrize("name", ["bench", "shelf", "wardrobe"])
def test_an_older_plan_is_made_again_whole(old: Yard, name: str) -> None:
    plan_and_store(old, jobs.job(old, name), QUICK)
    checked = check_yard(old)
    assert checked.verified == 1 and checked.differences == ()
    assert len(checked.notes) == 2


def test_a_plan_kept_whole_can_be_undone_and_done_again(shop: Yard) -> None:
    before = standing(shop, "wardrobe")
    undo.undo(shop)
    assert plans.standing_plan(shop, before.job_id) is None
    undo.undo(shop, shop.one("SELECT max(id) FROM deed"))
    assert standing(shop, "wardrobe") == before
    assert check_yard(shop) == Checked((), 3, ())


def test_a_bought_piece_fits_the_plan_that_waited_for_it(shop: Yard) -> None:
    plan = standing(shop, "wardrobe")
    wanted = next(x for x in plan.layouts if x.tag is None)
    (sheet,) = shelve(
        shop,
        [
            Arrival(
                material_id=wanted.material_id, kind=Kind.FULL, length=wanted.length, width=wanted.width,
                place="R1",
            )
        ],
    )  # fmt: skip
    pulling.pull(shop, [sheet.tag], plan.job_id)
    assert check_yard(shop) == Checked((), 3, ())
    assert confirm_cut(shop, sheet.tag).parts == wanted.parts


def test_a_question_left_short_is_kept_with_its_reasons(shop: Yard) -> None:
    part = JobPart(name="pole", count=2, length=9000 * MM, width=50 * MM, materials=("pine 27 mm",))
    rail = JobPart(name="rail", count=1, length=500 * MM, width=90 * MM, materials=("pine 27 mm",))
    _, stored = plan_and_store(shop, jobs.add_job(shop, "poles", "poles", [part, rail]), QUICK)
    (question,) = questions_of(shop, stored.id)
    assert question.status == "short"
    (out,) = question.left_out
    assert (out.part, out.count) == ("pole", 2) and "longer than any piece of pine 27 mm" in out.reason
    assert check_yard(shop) == Checked((), 4, ())


def test_plans_that_cannot_be_judged_are_no_news_beside_a_record_that_is_not_true(
    shop: Yard, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> Checked:
        raise LookupError("no such part")

    monkeypatch.setattr(plan_check, "_with_plans", broken)
    with pytest.raises(LookupError):
        check_yard(shop)
    wrong = Difference("a depth is wrong", Mend.PLAN_AGAIN)
    monkeypatch.setattr(plan_check, "check", lambda _: (wrong,))
    says = "the plans were not verified (no such part): mend the record first"
    assert check_yard(shop) == Checked((wrong,), 0, (says,))
