"""Every deed against a plain model in memory; at the end everything is undone and the first state is back."""

from __future__ import annotations

import atexit
import copy
import shutil
import tempfile
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from stockyard import yard
from stockyard.errors import StockyardError
from stockyard.planning.problem import Kind
from stockyard.yard import cutting, jobs, labels, ledger, measuring, pieces, plans, pulling, stocktake, undo
from stockyard.yard.check import check
from stockyard.yard.model import JobPart, State
from stockyard.yard.planned import GivenOffcut, PlannedLeftover, StoredLayout
from tests.yard.shop import MM, make_shop, planned, state_of, store

PLACES = ("R1-B2-S3", "R1-B1", "R2")
FLAT = "R1-B2-S3"
pick = st.integers(0, 10**6)


@dataclass
class Thing:
    """A piece as the model knows it."""

    length: int
    width: int
    state: str
    place: str | None
    plan: int | None = None
    labelled: bool = False
    parent: str | None = None


@dataclass
class Model:
    """The yard as plain Python: pieces by tag, stacks from the bottom up, plans by number."""

    things: dict[str, Thing] = field(default_factory=dict)
    stacks: dict[str, list[str]] = field(default_factory=lambda: {code: [] for code in PLACES})
    plans: dict[int, tuple[str, int, list[str]]] = field(default_factory=dict)
    scrap: dict[str, int] = field(default_factory=dict)
    jobs: dict[int, str] = field(default_factory=dict)
    open: dict[str, dict[str, tuple[str | None, bool]]] = field(default_factory=dict)

    def spot(self, tag: str) -> tuple[str | None, bool]:
        """Where a piece is recorded, and whether it is cut, lost or taken back."""
        x = self.things.get(tag, GONE_TAG)
        return x.place, x.state in ("cut", "gone")

    def left_since(self, tag: str, place: str) -> bool:
        """Whether a piece seen at a place has gone elsewhere since."""
        return self.spot(tag)[0] != place and self.open[place][tag] != self.spot(tag)

    def take(self, tag: str) -> None:
        """Take a piece off its place."""
        place = self.things[tag].place
        if place is not None:
            self.stacks[place].remove(tag)
            self.things[tag].place = None

    def lay(self, tag: str, place: str) -> None:
        """Lay a piece on top at a place."""
        self.take(tag)
        self.stacks[place].append(tag)
        self.things[tag].place = place

    def in_state(self, *states: str) -> list[str]:
        return sorted(t for t, x in self.things.items() if x.state in states)


GONE_TAG = Thing(1, 1, "taken back", None)


@cache
def template() -> Path:
    """Make the shop's yard once; each sequence starts from a copy."""
    path = Path(tempfile.mkdtemp(prefix="stateful")) / "yard.db"
    shop = make_shop(path)
    shop.yard.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    shop.yard.close()
    atexit.register(shutil.rmtree, path.parent)
    return path


class Deeds(RuleBasedStateMachine):
    """Does a deed in the yard and in the model, and compares."""

    @initialize()
    def start(self) -> None:
        self.folder = Path(tempfile.mkdtemp(prefix="stateful"))
        shutil.copy(template(), self.folder / "yard.db")
        self.yard = yard.open(self.folder / "yard.db")
        self.yard.connection.execute("PRAGMA synchronous = OFF")
        self.model = Model()
        for p in reversed(pieces.at_place(self.yard, FLAT)):
            self.model.things[p.tag] = Thing(p.length, p.width, "racked", FLAT)
            self.model.stacks[FLAT].append(p.tag)
        self.first = state_of(self.yard)
        self.first_deed = self.yard.one("SELECT max(id) FROM deed")
        self.before: list[Model] = []

    def about_to(self) -> None:
        """Remember the model as it is before a deed that the yard has just done."""
        self.before.append(copy.deepcopy(self.model))

    def choose(self, n: int, *states: str) -> str | None:
        found = self.model.in_state(*states)
        return found[n % len(found)] if found else None

    @rule(
        length=st.integers(100, 2000),
        width=st.integers(100, 1000),
        n=st.integers(1, 3),
        place=st.sampled_from(PLACES),
    )
    def shelve(self, length: int, width: int, n: int, place: str) -> None:
        arrival = pieces.Arrival(
            material_id=1,
            kind=Kind.OFFCUT,
            length=length * MM,
            width=width * MM,
            place=place,
            count=n,
            cost=777,
        )
        made = pieces.shelve(self.yard, [arrival])
        self.about_to()
        for p in made:
            self.model.things[p.tag] = Thing(p.length, p.width, "racked", None)
            self.model.lay(p.tag, place)

    @rule(n=pick, place=st.sampled_from(PLACES))
    def move(self, n: int, place: str) -> None:
        tag = self.choose(n, "racked", "promised", "bench", "pulled")
        if tag:
            pieces.move(self.yard, [tag], place)
            self.about_to()
            self.model.lay(tag, place)
            promised = self.model.things[tag].state in ("promised", "pulled")
            self.model.things[tag].state = "promised" if promised else "racked"

    @rule(ns=st.lists(pick, min_size=1, max_size=3), old=st.booleans(), n=pick)
    def plan(self, ns: list[int], old: bool, n: int) -> None:
        """Plan a new job, or plan one again in place of the plan that stands."""
        standing = sorted(
            i for i, (state, _, _) in self.model.plans.items() if state in ("standing", "broken")
        )
        replaces = standing[n % len(standing)] if old and standing else None
        if replaces is None:
            job_id = jobs.add_job(
                self.yard, f"job {len(self.before)}-{n}", "", [JobPart(name="a", count=1, length=1, width=1)]
            ).id
            self.about_to()
            self.model.jobs[job_id] = "open"
        else:
            job_id = self.model.plans[replaces][1]
        own = [
            t
            for t, x in self.model.things.items()
            if x.plan == replaces is not None and x.state in ("promised", "pulled")
        ]
        free = sorted({*self.model.in_state("racked", "bench"), *own})
        if not free:
            return
        chosen = list(dict.fromkeys(free[i % len(free)] for i in ns))
        layouts = [self._layout(i, t) for i, t in enumerate(chosen, 1)]
        stored = store(self.yard, job_id, layouts, replaces=replaces)
        self.about_to()
        if replaces is not None:
            self._let_go(replaces)
        self.model.plans[stored.id] = ("standing", job_id, chosen)
        for tag in chosen:
            thing = self.model.things[tag]
            thing.plan, thing.state = stored.id, "promised" if thing.state == "racked" else "pulled"

    def _layout(self, number: int, tag: str) -> StoredLayout:
        x = self.model.things[tag]
        half = max(x.length // 2, 1)
        return StoredLayout(
            number=number, tag=tag, material_id=1, length=x.length, width=x.width,
            placed=planned("a", 1, 1),  # as the job wants it, so that it is done with its plan
            leftovers=(PlannedLeftover(length=half, width=x.width),),
        )  # fmt: skip

    def _let_go(self, plan_id: int) -> None:
        self.model.plans[plan_id] = ("released", *self.model.plans[plan_id][1:])
        for x in self.model.things.values():
            if x.plan == plan_id and x.state in ("promised", "pulled"):
                x.plan, x.state = None, "racked" if x.state == "promised" else "bench"

    @rule(n=pick)
    def release(self, n: int) -> None:
        standing = sorted(
            i for i, (state, _, _) in self.model.plans.items() if state in ("standing", "broken")
        )
        if standing:
            plans.release_plan(self.yard, standing[n % len(standing)])
            self.about_to()
            self._let_go(standing[n % len(standing)])

    @rule(n=pick)
    def pull(self, n: int) -> None:
        tag = self.choose(n, "promised")
        if tag:
            pulling.pull(self.yard, [tag])
            self.about_to()
            self.model.take(tag)
            self.model.things[tag].state = "pulled"

    @rule(n=pick)
    def lose(self, n: int) -> None:
        tag = self.choose(n, "racked", "promised", "pulled", "bench")
        if tag:
            pulling.report_gone(self.yard, tag, "lost")
            self.about_to()
            self._gone(tag)

    def _gone(self, tag: str) -> None:
        x = self.model.things[tag]
        self.model.take(tag)
        if x.plan is not None and self.model.plans[x.plan][0] == "standing":
            self.model.plans[x.plan] = ("broken", *self.model.plans[x.plan][1:])
        x.state, x.plan = "gone", None

    @rule(n=pick, planned=st.booleans())
    def cut(self, n: int, planned: bool) -> None:
        tag = self.choose(n, *(("promised", "pulled") if planned else ("racked", "bench")))
        if not tag:
            return
        x = self.model.things[tag]
        offcuts = None if planned else [GivenOffcut(length=max(x.length // 3, 1), width=x.width)]
        done = cutting.confirm_cut(self.yard, tag, parts=None if planned else [], offcuts=offcuts)
        self.about_to()
        self.model.take(tag)
        x.state = "cut"
        for p in done.offcuts:
            self.model.things[p.tag] = Thing(p.length, p.width, "bench", None, parent=tag)
        part = 1 if planned else 0
        self.model.scrap[tag] = x.length * x.width - part - sum(p.area for p in done.offcuts)
        if x.plan is not None:
            state, job_id, chosen = self.model.plans[x.plan]
            if state == "standing" and all(self.model.things[t].state == "cut" for t in chosen):
                self.model.plans[x.plan] = ("done", job_id, chosen)
                self.model.jobs[job_id] = "done"

    @rule(n=pick, place=st.sampled_from(PLACES), less=st.integers(0, 3))
    def bring_back(self, n: int, place: str, less: int) -> None:
        tag = self.choose(n, "bench")
        if tag:
            x = self.model.things[tag]
            size = (max(x.length - less, 1), x.width)
            cutting.return_offcut(self.yard, tag, place, size)
            self.about_to()
            self._measured(tag, *size)
            self.model.lay(tag, place)
            x.state = "racked"

    def _measured(self, tag: str, length: int, width: int) -> None:
        x = self.model.things[tag]
        if x.parent is not None:
            self.model.scrap[x.parent] -= length * width - x.length * x.width
        x.labelled &= (length, width) == (x.length, x.width)  # its label says another size now
        x.length, x.width = length, width

    @rule(n=pick, more=st.integers(-5, 5))
    def measure(self, n: int, more: int) -> None:
        tag = self.choose(n, "racked", "bench")
        if tag:
            x = self.model.things[tag]
            length = x.length + more
            try:
                measuring.remeasure(self.yard, tag, length, x.width)
            except StockyardError:
                assert more == 0 or (x.parent and self.model.scrap[x.parent] < more * x.width)
                return
            self.about_to()
            self._measured(tag, length, x.width)

    @rule()
    def print_labels(self) -> None:
        new = {p.tag for p in labels.unlabelled(self.yard)}
        live = self.model.in_state("racked", "promised", "pulled", "bench")
        assert new == {t for t in live if not self.model.things[t].labelled}
        if labels.mark_printed(self.yard, sorted(new)):
            self.about_to()
            for tag in new:
                self.model.things[tag].labelled = True

    @rule(place=st.sampled_from(PLACES), ns=st.lists(pick, max_size=4))
    def count(self, place: str, ns: list[int]) -> None:
        """Count a place: everything there but the first piece, and some that belong elsewhere."""
        current = stocktake.start_count(self.yard, place)
        if place not in self.model.open:
            self.about_to()
            self.model.open[place] = {}
        found = self.model.in_state("racked", "bench", "gone")
        others = [found[n % len(found)] for n in ns] if found else []
        new = [
            t
            for t in dict.fromkeys([*self.model.stacks[place][1:], *others])
            if t not in self.model.open[place] or self.model.left_since(t, place)
        ]
        stocktake.sight(self.yard, current.id, [*self.model.stacks[place][1:], *others])
        if new:
            self.about_to()
            for tag in new:
                self.model.open[place].pop(tag, None)
                self.model.open[place][tag] = self.model.spot(tag)
        seen = [t for t in self.model.open[place] if not self.model.left_since(t, place)]
        bad = [
            t
            for t in seen
            if self.model.things.get(t, GONE_TAG).state not in ("racked", "bench", "gone", "promised")
        ]
        if bad:
            return
        stocktake.finish_count(self.yard, current.id, "counted")
        self.about_to()
        del self.model.open[place]
        here = list(self.model.stacks[place])
        for tag in [t for t in here if t not in seen]:
            self._gone(tag)
        for tag in [t for t in seen if t not in here]:
            self.model.lay(tag, place)
            if self.model.things[tag].state != "promised":
                self.model.things[tag].state = "racked"

    @precondition(lambda self: self.before)
    @rule()
    def undo_last(self) -> None:
        undo.undo(self.yard)
        self.model = self.before.pop()

    @precondition(lambda self: self.before)
    @rule(n=pick)
    def undo_any_and_do_it_again(self, n: int) -> None:
        last = self.yard.one("SELECT max(id) FROM deed")
        state = state_of(self.yard)
        try:
            made = undo.undo(self.yard, self.first_deed + 1 + n % (last - self.first_deed))
        except StockyardError as error:
            # Refused, and the deed that was asked for is named.
            assert "entry " in str(error), error
            assert state_of(self.yard) == state
        else:
            undo.undo(self.yard, made.id)
            # A label printed for a piece that was away meanwhile may have to be printed again; nothing else.
            assert self.but_for_labels(state_of(self.yard)) == self.but_for_labels(state)
            printed = {r["tag"] for r in self.yard.rows("SELECT tag FROM piece WHERE labelled = 1")}
            assert printed <= {tag for tag, x in self.model.things.items() if x.labelled}
            for tag, x in self.model.things.items():
                x.labelled = tag in printed
            # It counts as done now, after deeds that the model saw later: the model's way back begins here.
            self.before.clear()

    def but_for_labels(
        self, state: dict[str, list[tuple[object, ...]]]
    ) -> dict[str, list[tuple[object, ...]]]:
        """Return the state without the column that says whether a label was printed."""
        names = [r["name"] for r in self.yard.rows("PRAGMA table_info(piece)")]
        at = names.index("labelled")
        return state | {"piece": [row[:at] + row[at + 1 :] for row in state["piece"]]}

    @invariant()
    def agrees(self) -> None:
        if not hasattr(self, "model"):
            return
        codes = {r["id"]: r["code"] for r in self.yard.rows("SELECT id, code FROM place")}
        rows = self.yard.rows("SELECT * FROM piece")
        got = {
            r["tag"]: Thing(
                r["length"],
                r["width"],
                r["state"],
                codes.get(r["place_id"]),
                r["plan_id"],
                bool(r["labelled"]),
                r["parent"],
            )
            for r in rows
        }
        assert got == self.model.things
        for code in PLACES:
            stack = pieces.at_place(self.yard, code)
            assert [p.tag for p in stack] == self.model.stacks[code][::-1]
            assert [p.depth for p in stack] == [i if code == FLAT else 0 for i in range(len(stack))]
        assert {r["id"]: r["state"] for r in self.yard.rows("SELECT id, state FROM plan")} == {
            i: state for i, (state, _, _) in self.model.plans.items()
        }
        assert {
            r["tag"]: r["scrap"] for r in self.yard.rows("SELECT tag, scrap FROM cutting")
        } == self.model.scrap
        assert {r["id"]: r["state"] for r in self.yard.rows("SELECT id, state FROM job")} == self.model.jobs

    def teardown(self) -> None:
        if not hasattr(self, "yard"):
            return
        try:
            while self.yard.one("SELECT max(id) FROM deed") > self.first_deed and (
                undo.last_deed(self.yard).id > self.first_deed
            ):
                undo.undo(self.yard)
            assert state_of(self.yard) == self.first
            assert check(self.yard) == ()
            assert ledger.deeds(self.yard, limit=1)
        finally:
            self.yard.close()
            shutil.rmtree(self.folder)


def run(sequences: int, steps: int) -> None:
    """Run that many sequences of at most that many deeds."""
    run_state_machine_as_test(
        Deeds,
        settings=settings(
            max_examples=sequences, stateful_step_count=steps, deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )  # fmt: skip


def test_deeds_agree_with_the_model() -> None:
    run(8, 25)


@pytest.mark.slow
def test_two_thousand_sequences_of_sixty_deeds_agree_with_the_model() -> None:
    run(2000, 60)


def test_states_of_the_model_are_those_of_the_yard() -> None:
    assert {s.value for s in State} == {"racked", "promised", "pulled", "bench", "cut", "gone"}
