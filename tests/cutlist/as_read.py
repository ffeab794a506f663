"""Lists and how they are read, line by line: `python -m tests.cutlist.as_read` writes the record of it.

The lists are those of `messy.py` and `truth.py`, some of them with letters lost or put in. The record is what
the reader said when it was last looked through; whoever changes the reader looks through what changes in it.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from itertools import chain, groupby
from pathlib import Path
from typing import Any

from stockyard.cutlist import CutList, read, write
from stockyard.errors import BadInput
from stockyard.measure import TICKS_PER_MM, Unit
from tests.cutlist.messy import messy, spoilt
from tests.cutlist.truth import Writer

DATA = Path(__file__).parent.parent / "data"
KEPT, ODD = DATA / "as_read.txt", DATA / "odd_lists.txt"
MESSY, SPOILT, KNOWN = 40, 60, 30
# What a shop has whose lists are read with its own materials.
SHOP = (
    "birch ply 18 mm", "Birch ply 3/4", "red oak 4/4", "oak veneered MDF 19", "white melamine 16 mm", "2x4",
    "MDF x 18", "kitchen board 25 mm",
)  # fmt: skip


# Lines that say more than count, name and size, as people write them.
TELLING = """
18 mm birch ply
2 sides 720 x 400 grain up, 1 long edge banded
2 sides 720 x 400, L1 L2 S1, oak 1 mm
1 top 900 x 450 banded all round with 2 mm walnut, best face out
3 shelves 560 x 380 front edge banded, 6 mm oak veneer ply
4 rails 560 x 80 no band
1 door A 700 x 396 grain matched
1 door B 700 x 396 grain matched
3 drawer fronts 180 x 396 matched set, along
2 gables 900 x 400, batch A
1 back 860 x 560 batch A, 6 mm MDF
2 lids 600 x 300 rough cut 620 x 320
2 lids 600 x 300 oversize 10
1 jig 300 x 200 from scrap
2 doz. pegs 60 x 12
12 - pegs 60 x 12 (oak)
pair of stiles 700 x 60
D1: 2 pcs 500 x 300 (see drawing 4)
@ 2 450 x 450, glue up, for the hall
1) shelf 600 x 300 - 4 off
A. 4 ea. shelf 600L x 300W x 18T
shelf, 4, 600, 300, rip from the wide board
shelf 600 x 300 / cross grain / both faces good
4/4 oak: 3 @ 600 x 90, 2 @ 400 x 90 planed to 20
oak
legs 4 pcs 45 x 45 x 700
same, 2 pcs 45 x 45 x 350
ditto 600 x 300
apron 2 x 500 x 90 x 22 (finished sizes)
tenon 2 legs 700 x 60 + 2 x 25
2 tops 600 x 300, all edges
2 tops 600 x 300, 1 long
2 tops 600 x 300 both ends
2 lids 600 x 300, all 4 sides
2 lids 600 x 300 long edge
2 lids 600 x 300, each side
2 lids 600 x 300, all round
2 lids 600 x 300 2 long 1 short
2 lids 600 x 300 (one long edge and both ends)
TOP edged all round 900 x 450
total 61 pieces
Notes: deliver on Friday

Part;Qty;Length;Width;Material;Edges;Grain;Note;Set;Batch
side;2;720;400;birch ply 18;2L;length;left and right;;
front;3;180;396;oak ply 18;1L1S;width;;F along;
shelf;4;560;380;oak ply 18;;;;;B

Part,Pcs,L,W,Finish,Remark
back,1,860,560,-,-
lid,2,"600",300,oil,"say ""two"" coats"
shelf,3,560,380,",",
total,6
""".strip()

INCHES = """
pine 1x6
rails 24
3 @ 24
24
2 - 23 1/2
2 of 24, 3 of 30-1/2
oak 4/4
2 sides 23 1/2 x 9 1/4, 1 long banded
5 x 12 x 3/4
3/4 ply: 2 @ 12 x 12
2 tops 30" x 20" x 3/4"
4 x 4 x 30 legs
2 panels 4' x 2'
2 panels 4' 6" x 2'
1 lid 12-1/2 w x 20 h
shelf 30 x 12 x 4
shelf 30 x 12 x4
""".strip()


def lists() -> Iterator[tuple[str, str, Unit]]:
    """Yield each list: its name, its text, and the unit of the shop."""
    for seed in range(MESSY):
        text, unit, _ = messy(random.Random(seed))
        yield f"messy {seed}", text, unit
    for seed in range(SPOILT):
        rng = random.Random(1000 + seed)
        text, unit, _ = messy(rng)
        yield f"spoilt {seed}", spoilt(rng, text), unit
    yield "telling", TELLING, Unit.MM
    for line in TELLING.splitlines():
        yield "telling alone", line, Unit.MM
    yield "telling inches", INCHES, Unit.INCH
    for line in INCHES.splitlines():
        yield "telling alone", line, Unit.INCH
    for seed in range(KNOWN):
        truth = Writer(seed).whole()
        yield f"known {seed}", "\n".join(truth.lines), truth.unit


def odd() -> Iterator[tuple[str, Unit, int]]:
    """Yield lists that few rules of the reader read alike, each with its unit and the number of its ways."""
    for block in ODD.read_text(encoding="utf-8").rstrip("\n").split("\n\n"):
        head, text = block.split("\n", 1)
        _, unit, number = head.split(" ")
        yield text, Unit(unit), int(number)


def ways(number: int) -> dict[str, Any]:
    """Return how the list of that number is to be read: now this is said of it, now that."""
    said = {"first": (None, "along", "across")[number % 3], "finished": (None, False, True, None)[number % 4]}
    own = {"materials": SHOP, "band_thickness": TICKS_PER_MM, "band_trim": TICKS_PER_MM // 2}
    return said | own if number >= 12 else said


def told(found: CutList) -> Iterator[str]:
    """Yield what was understood, a line each; figures in ticks, as they are stored."""
    for r in found.rows:
        sizes = f"{r.length} x {r.width}" + (f" x {r.thickness}" if r.thickness else "")
        said = (r.thickness_name, r.material, r.nominal, r.rip_from, r.grain, "".join(r.bands), r.note)
        finished = f"finished {r.finished_length} x {r.finished_width}" if r.finished_length else ""
        own = (r.set_name and f"set {r.set_name} {r.set_run} {r.set_each}", r.batch and f"batch {r.batch}")
        band = f"band {r.band_material} {r.band_thickness}" if r.band_material or r.band_thickness else ""
        over = f"{r.rough} {r.over_length} {r.over_width}" if r.rough else ""
        more = "; ".join(str(x) for x in (*said, finished, *own, band, over) if x)
        yield f"row {r.line}:{r.column} {r.count} '{r.name}' {sizes}; {more}"
    for q in found.questions:
        answers = " | ".join(f"{r.key} = {r.says}" for r in q.readings)
        yield f"asked {q.id} {q.kind} {q.line}:{q.column} {list(q.lines)} {q.unclear} [{answers}] {q.retype}"
    for name in ("warnings", "ignored", "unread"):
        for remark in getattr(found, name):
            yield f"{name} {remark.line} {remark.says}"
    for line, spans in groupby(found.spans, key=lambda s: s.line):
        yield f"words {line} {' '.join(f'{s.start}-{s.end} {s.use.value}' for s in spans)}"
    yield f"lines are {' '.join(fate.value for fate in found.fates)}"


def record() -> Iterator[str]:
    """Yield the whole record: each list as read, and again with the last answer given to each question."""
    known = ((name, text, unit, number % 12) for number, (name, text, unit) in enumerate(lists()))
    for name, text, unit, number in chain(known, (("odd", *one) for one in odd())):
        said = ways(number)
        plain = {way: said[way] for way in ("first", "finished")}
        yield f"== {name}, {unit}, {plain}{', with materials' if len(said) > 2 else ''}"
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
        if name == "odd":
            yield from (f"written {row!r}" for row in write(found.rows).splitlines()[1:])


if __name__ == "__main__":
    KEPT.write_text("\n".join(record()) + "\n", encoding="utf-8")
