"""Pieces: shelving them, looking them up, moving them."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from stockyard.errors import BadInput, Refused
from stockyard.flaws import Flaw, looked_at
from stockyard.kinds import Kind
from stockyard.tags import read_tag, tag_number
from stockyard.yard.materials import material, materials
from stockyard.yard.model import Piece, State
from stockyard.yard.places import place, place_by_id
from stockyard.yard.store import Yard

DEPTH = """CASE WHEN w.storage = 'flat stack' THEN
  (SELECT count(*) FROM piece o WHERE o.place_id = p.place_id AND o.layer > p.layer) ELSE 0 END"""
_PIECE = f"SELECT p.*, {DEPTH} AS depth FROM piece p LEFT JOIN place w ON w.id = p.place_id"

# The same for many pieces at once: one pass over each stack instead of one count a piece.
_PIECES = """SELECT p.*, CASE WHEN w.storage = 'flat stack'
  THEN row_number() OVER (PARTITION BY p.place_id ORDER BY p.layer DESC) - 1 ELSE 0 END AS depth
FROM piece p LEFT JOIN place w ON w.id = p.place_id"""

_NEW_PIECE = (
    "tag", "material_id", "kind", "length", "width", "thickness", "cost", "supplier", "note", "state",
    "place_id", "layer", "shelved_at", "guessed", "flaws",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Arrival:
    """Equal pieces to be shelved; the first lies lowest. `cost` is for one, `guessed` from other sizes."""

    material_id: int
    kind: Kind
    length: int
    width: int
    place: str
    count: int = 1
    thickness: int | None = None
    cost: int = 0
    supplier: str = ""
    note: str = ""
    guessed: bool = False
    flaws: tuple[Flaw, ...] = ()


def shelve(yard: Yard, arrivals: Sequence[Arrival]) -> tuple[Piece, ...]:
    """Put new pieces on the racks, each with a new tag, in the order given: one deed.

    Raises:
        BadInput: no pieces, a count or size out of bounds, no such place, a flaw outside its piece.
    """
    total = sum(a.count for a in arrivals)
    if not arrivals or min(a.count for a in arrivals) < 1 or total > 100_000:
        raise BadInput(f"{total} pieces cannot be shelved at once: from 1 to 100000 can")
    for a in arrivals:
        looked_at(a.flaws, a.length, a.width, yard.unit, "the piece")
    with yard.deed("shelve") as deed:
        spots = {a.place: place(yard, a.place) for a in arrivals}
        names = Counter[str]()
        for a in arrivals:
            names[material(yard, a.material_id).title] += a.count
        lot = ", ".join(f"{n} {name}" for name, n in names.most_common(3)) + (
            " and others" if len(names) > 3 else ""
        )
        deed.begin(f"shelved {lot} at {', '.join(sorted({p.code for p in spots.values()})[:4])}")
        tags = issue_tags(yard, total)
        layer = next_layer(yard)
        rows: list[tuple[object, ...]] = []
        now = yard.clock()
        for a in arrivals:
            at = spots[a.place].id
            for _ in range(a.count):
                size = (a.length, a.width, a.thickness)
                what = (a.material_id, a.kind, *size, a.cost, a.supplier, a.note)
                rest = (State.RACKED, at, layer + len(rows), now, a.guessed, written_flaws(a.flaws))
                rows.append((tags[len(rows)], *what, *rest))
        yard.insert_many("piece", _NEW_PIECE, rows)
    return by_tags(yard, tags)


def issue_tags(yard: Yard, count: int) -> list[str]:
    """Give out the next `count` tags, within the open deed."""
    first = yard.one("SELECT coalesce(max(number), -1) + 1 FROM tag")
    tags = [tag_number(n) for n in range(first, first + count)]
    yard.write_many(
        "INSERT INTO tag (number, code) VALUES (?, ?)",
        list(zip(range(first, first + count), tags, strict=True)),
    )
    return tags


def next_layer(yard: Yard) -> int:
    """Return a layer above all ever given: the number of the next ledger entry.

    A piece put back by an undo so lies again where it lay, under what came after it.
    """
    return int(yard.one("SELECT coalesce(max(id), 0) + 1 FROM entry"))


def by_tag(yard: Yard, tag: str) -> Piece:
    """Return the piece of that tag, in whatever state, as typed or scanned.

    Raises:
        BadInput: not a tag, or no piece has it.
    """
    code = read_tag(tag)
    row = yard.row(f"{_PIECE} WHERE p.tag = ?", (code,))
    if row is not None:
        return piece_of(row)
    planned = yard.row(
        "SELECT j.name, x.tag, p.state = 'cut' AS cut FROM layout x JOIN plan n ON n.id = x.plan_id"
        " JOIN job j ON j.id = n.job_id LEFT JOIN piece p ON p.tag = x.tag"
        " WHERE n.state IN ('standing', 'broken', 'done') AND x.id IN"
        " (SELECT layout_id FROM layout_leftover WHERE tag = :tag UNION ALL"
        " SELECT l.id FROM layout l, json_each(l.gives, '$.leftovers') o"
        " WHERE l.question_id IS NULL AND o.value ->> 'tag' = :tag)",
        {"tag": code},
    )
    if planned is not None and planned["cut"]:
        raise BadInput(f"{code} was to come of {planned['tag']}, which was cut otherwise: there is none")
    if planned is not None:
        raise BadInput(f"{code} is an offcut that job {planned['name']} will give: it is not cut yet")
    if yard.row("SELECT 1 FROM tag WHERE code = ?", (code,)):
        raise BadInput(f"{code} was given out, but its piece was taken back (undone) or never came")
    raise BadInput(f"no piece has the tag {code}: read the label again")


def by_tags(yard: Yard, tags: Iterable[str]) -> tuple[Piece, ...]:
    """Return several pieces in the order of their tags.

    Raises:
        BadInput: not a tag, or no piece has it.
    """
    wanted = list(tags)
    if len(wanted) < 200:
        return tuple(by_tag(yard, tag) for tag in wanted)
    every = {row["tag"]: piece_of(row) for row in yard.rows(_PIECES)}
    return tuple(every.get(tag) or by_tag(yard, tag) for tag in wanted)


def offcuts_of(yard: Yard, tag: str) -> tuple[Piece, ...]:
    """Return what was left of a piece and kept as it was cut, the largest first."""
    rows = yard.rows(f"{_PIECE} WHERE p.parent = ? ORDER BY p.area DESC, p.tag", (tag,))
    return tuple(piece_of(row) for row in rows)


def at_place(yard: Yard, code: str) -> tuple[Piece, ...]:
    """Return the pieces at a place from the top down."""
    rows = yard.rows(f"{_PIECES} WHERE p.place_id = ? ORDER BY p.layer DESC", (place(yard, code).id,))
    return tuple(piece_of(row) for row in rows)


def on_hand(yard: Yard, *, states: Sequence[State] = (State.RACKED, State.BENCH)) -> tuple[Piece, ...]:
    """Return all pieces in these states, with depths, ordered by place and from the top down."""
    wanted = set(states)
    if wanted & {State.RACKED, State.PROMISED}:
        # Depths count all that lies at a place.
        wanted |= {State.RACKED, State.PROMISED}
    marks = ", ".join("?" * len(wanted))
    rows = yard.rows(
        f"{_PIECES} WHERE p.state IN ({marks}) ORDER BY w.walk, p.place_id, p.layer DESC, p.tag",
        sorted(wanted),
    )
    return tuple(piece_of(row) for row in rows if row["state"] in states)


def held_by_plans(yard: Yard, state: State) -> Counter[int]:
    """Return how many pieces in that state each plan holds, by the plan's id."""
    rows = yard.rows(
        "SELECT plan_id, count(*) AS n FROM piece WHERE state = ? AND plan_id IS NOT NULL GROUP BY plan_id",
        (state,),
    )
    return Counter({row["plan_id"]: row["n"] for row in rows})


def full_by_material(yard: Yard, states: Sequence[State]) -> Counter[int]:
    """Return how many full pieces in these states there are of each material, by its id."""
    marks = ", ".join("?" * len(states))
    rows = yard.rows(
        f"SELECT material_id, count(*) AS n FROM piece WHERE kind = 'full' AND state IN ({marks})"
        " GROUP BY material_id",
        tuple(states),
    )
    return Counter({row["material_id"]: row["n"] for row in rows})


def free_for(yard: Yard, *job_ids: int) -> tuple[Piece, ...]:
    """Return the pieces a plan may use: on the racks or bench and not promised, or promised to these jobs.

    Pulled pieces of their own plans count too: they lie at the saw.
    """
    own = {
        row["tag"]
        for job_id in job_ids
        for row in yard.rows(
            "SELECT p.tag FROM plan n JOIN piece p ON p.plan_id = n.id WHERE n.job_id = ?"
            " AND n.state IN ('standing', 'broken') AND p.state IN ('promised', 'pulled')",
            (job_id,),
        )
    }
    every = on_hand(yard, states=(State.RACKED, State.BENCH, State.PROMISED, State.PULLED))
    return tuple(p for p in every if p.state in (State.RACKED, State.BENCH) or p.tag in own)


def move(yard: Yard, tags: Sequence[str], code: str) -> tuple[Piece, ...]:
    """Put pieces on top at a place, in the order given; from the racks or the bench: one deed.

    Raises:
        BadInput: no tags, or one that no piece has.
        Refused: a piece is neither on the racks nor on the bench.
    """
    if not tags:
        raise BadInput("say which pieces are moved: give their tags")
    with yard.deed("move") as deed:
        pieces = by_tags(yard, dict.fromkeys(read_tag(t) for t in tags))
        for p in pieces:
            if p.state not in (State.RACKED, State.PROMISED, State.BENCH, State.PULLED):
                raise Refused(f"{p.tag} cannot be moved: it is {told(yard, p)}")
        spot = place(yard, code)
        deed.begin(
            f"moved {', '.join(p.tag for p in pieces[:6])}{'...' if len(pieces) > 6 else ''} to {spot.code}"
        )
        put(yard, pieces, spot.id)
    return by_tags(yard, [p.tag for p in pieces])


def put(yard: Yard, pieces: Sequence[Piece], place_id: int) -> None:
    """Lay pieces on top at a place within the open deed; one that was pulled is promised again."""
    for layer, p in enumerate(pieces, next_layer(yard)):
        state = State.PROMISED if p.state in (State.PROMISED, State.PULLED) else State.RACKED
        yard.write(
            "UPDATE piece SET state = ?, place_id = ?, layer = ? WHERE tag = ?",
            (state, place_id, layer, p.tag),
        )


def told(yard: Yard, p: Piece) -> str:
    """Say where a piece is in a few words: 'at R1-B2-S3', 'promised to kitchen, at R1', 'cut'."""
    code = place_by_id(yard, p.place_id).code if p.place_id is not None else ""
    job = ""
    if p.state in (State.PROMISED, State.PULLED):
        job = yard.one("SELECT j.name FROM plan n JOIN job j ON j.id = n.job_id WHERE n.id = ?", (p.plan_id,))
    return whereabouts(p, code, job)


def whereabouts(p: Piece, code: str, job: str) -> str:
    """Say the same of a piece whose place and job are known already."""
    if p.state is State.GONE:
        return f"gone ({p.gone_because})"
    if p.state is State.PROMISED:
        return f"promised to {job}, at {code}"
    if p.state is State.PULLED:
        return f"pulled for {job}"
    if p.state is State.RACKED:
        return f"at {code}"
    return "on the bench" if p.state is State.BENCH else "cut"


def job_names(yard: Yard) -> dict[int, str]:
    """Return the name of the job of every plan that holds pieces, by the plan's id."""
    rows = yard.rows(
        "SELECT n.id, j.name FROM plan n JOIN job j ON j.id = n.job_id"
        " WHERE n.state IN ('standing', 'broken')"
    )
    return {row["id"]: row["name"] for row in rows}


def titles(yard: Yard) -> dict[int, str]:
    """Return the title of every material by its id."""
    return {m.id: m.title for m in materials(yard)}


def piece_of(row: sqlite3.Row) -> Piece:
    """Return the piece in a row that holds all columns of `piece` and a `depth`."""
    return Piece(
        tag=row["tag"], material_id=row["material_id"], kind=Kind(row["kind"]), length=row["length"],
        width=row["width"], state=State(row["state"]), place_id=row["place_id"], depth=row["depth"],
        thickness=row["thickness"], cost=row["cost"], parent=row["parent"], plan_id=row["plan_id"],
        shelved_at=row["shelved_at"], labelled=bool(row["labelled"]), gone_because=row["gone_because"],
        note=row["note"], supplier=row["supplier"], guessed=bool(row["guessed"]),
        flaws=() if row["flaws"] == "[]" else read_flaws(row["flaws"]), hollow=row["hollow"],
    )  # fmt: skip


def read_flaws(text: str) -> tuple[Flaw, ...]:
    """Return the flaws as a row has them."""
    return tuple(Flaw(*one) for one in json.loads(text))


def written_flaws(flaws: Iterable[Flaw]) -> str:
    """Return flaws as a row has them."""
    return json.dumps([list(f) for f in flaws], separators=(",", ":"))
