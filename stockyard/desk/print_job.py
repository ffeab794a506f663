"""The papers of a job as PDFs: all in one, or each alone."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from stockyard.desk.file_names import file_stem
from stockyard.desk.label_data import part_labels_printed, shop_layout
from stockyard.desk.papers import papers_of, plan_that_holds
from stockyard.desk.router import routed_sheets_of
from stockyard.errors import Refused
from stockyard.printing.one_job import job_pdf, saw_pdf
from stockyard.printing.pull_list import pull_list_pdf
from stockyard.printing.router_sheet import router_sheets_pdf
from stockyard.yard.model import Job
from stockyard.yard.store import Yard


class Which(StrEnum):
    """Which papers of a job."""

    PULL = "pull"
    CARDS = "cards"
    ROUTER = "router"
    LABELS = "labels"


@dataclass(frozen=True, slots=True)
class Document:
    """A file to be: its name as every file system takes it, and its bytes."""

    name: str
    data: bytes


def print_job(
    yard: Yard,
    job: Job,
    *,
    only: Which | None = None,
    one_file: bool = False,
    size: str = "",
    changed: bool = False,
) -> tuple[Document, ...]:
    """Return the papers of the plan of `job` that stands or finished it.

    `one_file` joins all but part labels, which go on label sheets and stay a file of their own.
    `size` is letter or a4, the shop's setting when empty. `changed`: only cards that are not as they were
    last printed, and the labels of their parts.

    Raises:
        Refused: the job has no plan that holds, no card changed, or there is nothing of what is wanted.
        BadInput: a name that cannot be printed.
    """
    with yard.reading():
        papers, size = papers_of(yard, job, changed=changed), size or yard.settings.paper
        numbers = {card.number for card in papers.cards} if changed else None
        routed = routed_sheets_of(yard, job, plan_that_holds(yard, job), papers.cards)
        papers = replace(papers, cards=tuple(card for card in papers.cards if not card.routed))
        if only is Which.ROUTER and not routed:
            raise Refused(f"nothing of job {job.name} goes on the router")
        if only is Which.CARDS and routed and not papers.cards:
            raise Refused(f"nothing of job {job.name} is sawn: its sheets go on the router")
        rules = yard.settings.drawing_rules
        made: list[tuple[str, bytes]] = []
        if one_file and only is None:
            made.append(("papers", job_pdf(papers, size, routed, rules)))
        else:
            if only in (None, Which.PULL):
                made.append(("pull list", pull_list_pdf(papers.pull_list, size)))
            if only is Which.CARDS or (only is None and (papers.cards or not routed)):
                made.append(("cut cards", saw_pdf(papers, size)))
        if routed and (only is Which.ROUTER or (only is None and not one_file)):
            pdf = router_sheets_pdf(routed, rules, yard.unit, size)
            made.append(("router sheets", pdf))
        if only in (None, Which.LABELS):
            made.append(("part labels", part_labels_printed(yard, job, shop_layout(yard), cards=numbers)[0]))
    return tuple(Document(f"{file_stem(job)} - {what}.pdf", data) for what, data in made)
