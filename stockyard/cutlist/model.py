"""What a cut list says, as plain values. Lengths are ticks; lines and columns count from 1."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from stockyard.kinds import Grain
from stockyard.measure import Length


class Fate(StrEnum):
    """What became of a line of the text: exactly one of these."""

    ROW = "row"
    HEADING = "heading"
    QUESTION = "question"
    TOTAL = "total"
    IGNORED = "ignored"


class Use(StrEnum):
    """What some words of a line were taken for."""

    COUNT = "count"
    NAME = "name"
    SIZE = "size"
    THICKNESS = "thickness"
    MATERIAL = "material"
    GRAIN = "grain"
    BANDS = "bands"
    SET = "set"
    BATCH = "batch"
    ROUGH = "rough"
    FINISHED = "finished"
    LUMBER = "lumber"
    SAME = "same"
    TITLE = "title"
    NOTE = "note"
    JOINT = "joint"
    REPORTED = "reported"


@dataclass(frozen=True, slots=True)
class Span:
    """What one stretch of a line, in its plain form, was taken for; `start` and `end` count from 0."""

    line: int
    start: int
    end: int
    use: Use


@dataclass(frozen=True, slots=True, kw_only=True)
class KnownMaterial:
    """A material the shop has, as far as reading a list needs it."""

    name: str
    grain: bool = True
    board: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """Equal parts wanted, as one entry of the list says.

    `length` is along the grain unless `grain` says otherwise, `width` across it; both are cut sizes.
    `finished_length`, `finished_width` are those with the bands on, where that is known.
    `thickness_name` is what the trade calls it ("3/4", "18 mm", "8/4"); `thickness` is the figure in ticks
    (for a quarter only when the line gives one). `nominal` and `rip_from` are lumber names ("2x4").
    `bands` are banded edges: L1 L2 along the length, W1 W2 along the width; `band_material` and
    `band_thickness` (ticks) are those of the band where they are known. `set_name` is the matched set it is
    in, `set_run` how its parts follow each other ("along", "across"), `set_each` how many of it one set takes
    (0: all of them). Rows of one `batch` come from pieces that measure alike. `rough` is what is said of
    sawing larger: `usual`, `as is`, `own` for its own `over_length` and `over_width`, or nothing.
    """

    name: str
    count: int
    length: Length
    width: Length
    thickness: Length | None = None
    thickness_name: str | None = None
    material: str = ""
    nominal: str | None = None
    rip_from: str | None = None
    grain: Grain | None = None
    bands: tuple[str, ...] = ()
    band_material: str = ""
    band_thickness: Length | None = None
    finished_length: Length | None = None
    finished_width: Length | None = None
    set_name: str = ""
    set_run: str = ""
    set_each: int = 0
    batch: str = ""
    rough: str = ""
    over_length: Length = Length(0)
    over_width: Length = Length(0)
    note: str = ""
    line: int = 0
    column: int = 0
    text: str = ""


@dataclass(frozen=True, slots=True)
class Reading:
    """One way to take what is unclear: `key` is the answer that chooses it, `says` shows it."""

    key: str
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something the text does not say clearly.

    Answer with `answers={id: key of a reading}`. A question about one line (`retype`) also takes the line
    written again, or `skip` to leave it out. One about several lines takes an answer for all of them, or one
    for each ("5: 2; 7: 1"). `or_else` says what else it takes, such as "how many".
    """

    id: str
    line: int
    column: int
    text: str
    unclear: str
    readings: tuple[Reading, ...] = ()
    lines: tuple[int, ...] = ()
    retype: bool = False
    kind: str = "line"
    or_else: str = ""


@dataclass(frozen=True, slots=True)
class Remark:
    """Something worth a look, or the reason a line holds no part."""

    line: int
    says: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CutList:
    """Everything read. `fates` has one entry a line of the text: what the line was taken for.

    `unread` are words that stay with a part as its note and say nothing to the reader. `spans` account for
    each word of a line that was read.
    """

    rows: tuple[Row, ...]
    questions: tuple[Question, ...] = ()
    warnings: tuple[Remark, ...] = ()
    ignored: tuple[Remark, ...] = ()
    fates: tuple[Fate, ...] = ()
    unread: tuple[Remark, ...] = ()
    spans: tuple[Span, ...] = ()

    @property
    def count(self) -> int:
        """How many parts the rows ask for."""
        return sum(row.count for row in self.rows)
