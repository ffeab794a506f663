"""What a job's files are called."""

from __future__ import annotations

import re
import unicodedata

from stockyard.text import leaving
from stockyard.yard.model import Job


def file_stem(job: Job) -> str:
    """Return a job's name as every file system takes it; where that is not its own name, with its number.

    So no two jobs have the same: `hall/shelf` and `hall-shelf` are two.
    """
    printed = leaving(unicodedata.normalize("NFC", job.name))
    plain = re.sub(r'[<>:"/\\|?*]+', "-", printed).strip(" .")
    if plain == job.name and not re.search(r" \(job \d+\)$", plain, re.IGNORECASE):
        return plain
    return f"{plain or 'job'} (job {job.id})"
