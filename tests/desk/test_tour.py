"""The demo's tour: what it says while it works, and the story it tells after it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from stockyard.desk import tour
from stockyard.desk.ask_planner import Asked
from stockyard.desk.plan_job import Answer, plan_and_store
from stockyard.desk.print_job import Document
from stockyard.yard import Yard
from stockyard.yard.model import Job
from stockyard.yard.planned import StoredPlan
from tests.quick_plans import plan_here

# The lists of demo_data/cut_lists, in the order of their names.
JOBS = (
    "hall bench", "market stall", "reading nook", "sauna bench", "tool cabinet", "toy crates", "wash stand",
)  # fmt: skip


def alone(yard: Yard, job: Job, asked: Asked) -> tuple[Answer, StoredPlan]:
    """Plan without the plan of new stock beside it."""
    return plan_and_store(yard, job, replace(asked, compare=False))


def one_paper(_: object, job: Job, **__: object) -> tuple[Document, ...]:
    """What the papers look like is looked at elsewhere."""
    return (Document(f"{job.name}.pdf", b""),)


def test_the_tour_says_what_it_does_and_tells_what_came_of_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan_here(monkeypatch, work=1)
    monkeypatch.setattr(tour, "compile_all", lambda: None)
    monkeypatch.setattr(tour, "is_ready", lambda: False)
    monkeypatch.setattr(tour, "plan_and_store", alone)
    monkeypatch.setattr(tour, "print_job", one_paper)
    said: list[str] = []
    kept: list[str] = []

    def keep(name: str, _: bytes) -> Path:
        kept.append(name)
        return tmp_path / name

    story = tour.tour(tmp_path / "yard.db", said.append, keep, seconds=1.0)
    assert said == [
        "Building the yard of an invented shop ...",
        "Making the planner ready (once on a new installation, about half a minute) ...",
        *(f"Planning and printing {job} ..." for job in JOBS),
        "Pulling, cutting and putting away tool cabinet ...",
    ]
    first, *planned, carried, last = story.lines
    assert first.startswith("Shelved ")
    assert [line.split(":")[0] for line in planned] == list(JOBS)
    assert carried.startswith("tool cabinet: pulled and cut ")
    assert last == "Replayed the ledger: the record is true."
    assert kept == [
        "edge labels.pdf", *(f"{job}.pdf" for job in JOBS), "edge labels of new offcuts.pdf",
    ]  # fmt: skip
    assert story.papers == tuple(tmp_path / name for name in kept)
