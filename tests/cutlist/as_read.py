"""Lists and how they are read, line by line: `python -m tests.cutlist.as_read` writes the record of it.

The lists are those of `messy.py` and `truth.py`, some of them with letters lost or put in. The record is what
the reader said when it was last looked through; whoever changes the reader looks through what changes in it.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from stockyard.cutlist import CutList, read
from stockyard.errors import BadInput
from stockyard.measure import Unit
from tests.cutlist.messy import messy, spoilt
from tests.cutlist.truth import Writer

KEPT = Path(__file__).parent.parent / "data" / "as_read.txt"
MESSY, SPOILT, KNOWN = 40, 60, 30


def lists() -> Iterator[tuple[str, str, Unit]]:
    """Yield each list: its name, its text, and the unit of the shop."""
    for seed in range(MESSY):
        text, unit, _ = messy(random.Random(seed))
        yield f"messy {seed}", text, unit
    for seed in range(SPOILT):
        rng = random.Random(1000 + seed)
        text, unit, _ = messy(rng)
        yield f"spoilt {seed}", spoilt(rng, text), unit
    for seed in range(KNOWN):
        truth = Writer(seed).whole()
        yield f"known {seed}", "\n".join(truth.lines), truth.unit


def ways(number: int) -> dict[str, Any]:
    """Return how the list of that number is to be read: now this is said of it, now that."""
    return {"first": (None, "along", "across")[number % 3], "finished": (None, False, True, None)[number % 4]}


def told(found: CutList) -> Iterator[str]:
    """Yield what was understood, a line each; figures in ticks, as they are stored."""
    for r in found.rows:
        sizes = f"{r.length} x {r.width}" + (f" x {r.thickness}" if r.thickness else "")
        said = (r.thickness_name, r.material, r.nominal, r.rip_from, r.grain, "".join(r.bands), r.note)
        finished = f"finished {r.finished_length} x {r.finished_width}" if r.finished_length else ""
        more = "; ".join(str(x) for x in (*said, finished) if x)
        yield f"row {r.line}:{r.column} {r.count} '{r.name}' {sizes}; {more}"
    for q in found.questions:
        answers = " | ".join(f"{r.key} = {r.says}" for r in q.readings)
        yield f"asked {q.id} {q.kind} {q.line}:{q.column} {list(q.lines)} {q.unclear} [{answers}] {q.retype}"
    for name in ("warnings", "ignored", "unread"):
        for remark in getattr(found, name):
            yield f"{name} {remark.line} {remark.says}"
    yield f"lines are {' '.join(fate.value for fate in found.fates)}"


def record() -> Iterator[str]:
    """Yield the whole record: each list as read, and again with the last answer given to each question."""
    for number, (name, text, unit) in enumerate(lists()):
        said = ways(number)
        yield f"== {name}, {unit}, {said}"
        yield from (f"> {line}" for line in text.splitlines())
        found = read(text, unit=unit, **said)
        yield from told(found)
        answers = {q.id: q.readings[-1].key for q in found.questions if q.readings}
        if answers:
            yield f"-- answered {answers}"
            try:
                yield from told(read(text, unit=unit, answers=answers, **said))
            except BadInput as error:
                yield f"refused: {error}"


if __name__ == "__main__":
    KEPT.write_text("\n".join(record()) + "\n", encoding="utf-8")
