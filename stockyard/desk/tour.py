"""The demo's tour: its jobs planned and printed, and one of them taken through to the rack again."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from stockyard.desk.ask_planner import Asked
from stockyard.desk.demo import build_yard, demo_folder
from stockyard.desk.job_list import Ways, understand
from stockyard.desk.labels import edge_labels, note_printed
from stockyard.desk.plan_check import check_yard
from stockyard.desk.plan_job import Answer, plan_and_store
from stockyard.desk.print_job import print_job
from stockyard.desk.shelve_advice import place_for
from stockyard.errors import Refused
from stockyard.figures import money
from stockyard.planning.child import at_hand
from stockyard.planning.hunting.warm_up import compile_all
from stockyard.planning.kept import is_ready
from stockyard.planning.limits import Limits
from stockyard.wording import count
from stockyard.yard import Yard
from stockyard.yard.cutting import confirm_cut, return_offcut
from stockyard.yard.jobs import add_job
from stockyard.yard.jobs import job as job_named
from stockyard.yard.model import Job, Piece
from stockyard.yard.pieces import on_hand
from stockyard.yard.plans import standing_plan
from stockyard.yard.pulling import pull, to_pull

Keep = Callable[[str, bytes], Path]
"""Put a paper of that name away; return where it is."""

THROUGH = "tool cabinet"
"""The job that is pulled, cut and put away: it needs nothing from the shop in town."""


@dataclass(frozen=True, slots=True)
class Story:
    """What the tour did, a sentence each, and the papers it printed."""

    lines: tuple[str, ...]
    papers: tuple[Path, ...]


@at_hand()
def tour(path: Path, say: Callable[[str], None], keep: Keep, *, seconds: float) -> Story:
    """Build the yard at `path`, plan and print every job with `seconds` for each, carry one through.

    `say` is told what is being done, `keep` is given each paper to put where the person wants it.

    Raises:
        Refused: there is a yard already, or the record is not clean at the end.
    """
    say("Building the yard of an invented shop ...")
    with build_yard(path) as yard:
        pieces = on_hand(yard)
        lines = [f"Shelved {count(len(pieces), 'piece')} and gave each a tag."]
        papers = [_print_labels(yard, "edge labels.pdf", keep)]
        if not is_ready():
            say("Making the planner ready (once on a new installation, about half a minute) ...")
            compile_all()
        for job in _paste(yard):
            say(f"Planning and printing {job.name} ...")
            answer, _ = plan_and_store(yard, job, Asked(limits=Limits(seconds=seconds)))
            lines.append(_planned(answer, yard.settings.currency))
            papers += _print(yard, job, keep)
        job = job_named(yard, THROUGH)
        say(f"Pulling, cutting and putting away {job.name} ...")
        lines.append(_carry_through(yard, job))
        papers.append(_print_labels(yard, "edge labels of new offcuts.pdf", keep))
        lines.append(_checked(yard))
    return Story(tuple(lines), tuple(papers))


def _paste(yard: Yard) -> Iterator[Job]:
    """Store the cut lists as jobs."""
    for path in sorted((demo_folder() / "cut_lists").iterdir()):
        text = path.read_text(encoding="utf-8")
        found = understand(yard, text, Ways(first="along"))
        if found.questions:
            raise Refused(f"{path.name}: {found.questions[0].unclear}")
        yield add_job(yard, path.stem.replace("_", " "), text, found.parts)


def _planned(answer: Answer, currency: str) -> str:
    """Tell of one plan in a sentence."""
    f = answer.facts
    pay = (
        f", {count(f.bought, 'piece')} to buy for {money(f.to_pay, currency)}"
        if f.bought
        else ", nothing to buy"
    )
    saved = answer.facts_without.money - f.money if answer.facts_without else 0
    spared = f" The offcuts save {money(saved, currency)}." if f.offcuts and saved > 0 else ""
    return (
        f"{answer.job.name}: {count(f.parts, 'part')} from {count(f.offcuts, 'offcut')} and "
        f"{count(f.drawn, 'full piece')}{pay}.{spared}"
    )


def _print(yard: Yard, job: Job, keep: Keep) -> tuple[Path, ...]:
    return tuple(keep(paper.name, paper.data) for paper in print_job(yard, job, one_file=True))


def _print_labels(yard: Yard, name: str, keep: Keep) -> Path:
    """Print the edge labels that were never printed, and note them once they are kept."""
    made = edge_labels(yard)
    path = keep(name, made.pdf)
    note_printed(yard, made.tags)
    return path


def _carry_through(yard: Yard, job: Job) -> str:
    """Pull and cut every piece of a job, and put what is left on the rack; tell of it."""
    plan = standing_plan(yard, job.id)
    assert plan is not None
    pulled = pull(yard, [p.tag for p in to_pull(yard, job.id)], job.id)
    back: list[Piece] = []
    for layout in plan.layouts:
        assert layout.tag is not None
        for offcut in confirm_cut(yard, layout.tag).offcuts:
            best = next(s for s in place_for(yard, offcut.tag) if s.ok)
            back.append(return_offcut(yard, offcut.tag, best.code))
    tags = ", ".join(p.tag for p in back)
    return (
        f"{job.name}: pulled and cut {count(len(pulled.pieces), 'piece')}, "
        f"put back {count(len(back), 'offcut')} ({tags})."
    )


def _checked(yard: Yard) -> str:
    found = check_yard(yard).differences
    if found:
        raise Refused(f"the record of the demo is not clean: {found[0]}")
    return "Replayed the ledger: the record is true."
