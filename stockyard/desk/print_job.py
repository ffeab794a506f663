"""Write the papers of a job to files: all in one PDF, or each alone."""

from __future__ import annotations

import re
import unicodedata
from enum import StrEnum
from pathlib import Path

from stockyard.desk.label_data import print_part_labels, shop_layout
from stockyard.desk.papers import papers_of
from stockyard.errors import BadInput
from stockyard.printing.one_job import job_pdf, saw_pdf
from stockyard.printing.output import write_whole
from stockyard.printing.pull_list import pull_list_pdf
from stockyard.yard.model import Job
from stockyard.yard.store import Yard


class Which(StrEnum):
    """Which papers of a job."""

    PULL = "pull"
    CARDS = "cards"
    LABELS = "labels"


def print_job(
    yard: Yard, job: Job, folder: Path, *, only: Which | None = None, one_file: bool = False, size: str = ""
) -> tuple[Path, ...]:
    """Write the papers of the standing plan of `job` into `folder`; return the files.

    `one_file` joins pull list and cut cards; part labels go on label sheets and stay a file of their own.
    `size` is letter or a4, the shop's setting when empty.

    Raises:
        Refused: the job has no plan that holds.
        BadInput: a name that cannot be printed, or a file that cannot be written.
    """
    papers, size = papers_of(yard, job), size or yard.settings.paper
    made: list[tuple[str, bytes]] = []
    if one_file and only is None:
        made.append(("papers", job_pdf(papers, size)))
    else:
        if only in (None, Which.PULL):
            made.append(("pull list", pull_list_pdf(papers.pull_list, size)))
        if only in (None, Which.CARDS):
            made.append(("cut cards", saw_pdf(papers, size)))
    _make(folder)
    stem = file_stem(job)
    written = []
    for what, data in made:
        written.append(folder / f"{stem} - {what}.pdf")
        write_whole(written[-1], data)
    if only in (None, Which.LABELS):
        written.append(folder / f"{stem} - part labels.pdf")
        print_part_labels(yard, job, shop_layout(yard), written[-1])
    return tuple(written)


def file_stem(job: Job) -> str:
    """Return a job's name as every file system takes it; where that is not its own name, with its number.

    So no two jobs have the same: `hall/shelf` and `hall-shelf` are two.
    """
    plain = re.sub(r'[\x00-\x1f\x7f<>:"/\\|?*]+', "-", unicodedata.normalize("NFC", job.name)).strip(" .")
    if plain == job.name and not re.search(r" \(job \d+\)$", plain, re.IGNORECASE):
        return plain
    return f"{plain or 'job'} (job {job.id})"


def _make(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise BadInput(f"cannot use the folder {folder}: {(error.strerror or str(error)).lower()}") from error
