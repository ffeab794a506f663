"""What the database itself refuses, whoever asks: plain SQL inside an open deed, or without one."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing

import pytest

from stockyard.yard import cutting, pulling
from tests.yard.shop import MM, Shop, plan_for, whole

OPEN = (
    "INSERT INTO deed (at, what, says) VALUES ('2026-05-01T00:00:00Z', 'by hand', 'by hand')",
    "INSERT INTO open_deed (deed_id) SELECT max(id) FROM deed",
)
CLOSE = ("DELETE FROM open_deed",)


@pytest.fixture
def plain(shop: Shop) -> Iterator[sqlite3.Connection]:
    """A plain connection as any SQLite program makes one, with foreign keys on, to a busy shop's yard."""
    plan_for(shop, shop.sheets[0], shop.sheets[1])
    pulling.pull(shop.yard, [shop.sheets[0].tag])
    done = cutting.confirm_cut(shop.yard, shop.sheets[0].tag)
    cutting.return_offcut(shop.yard, done.offcuts[0].tag, "R1-B1")
    before = whole(shop.yard)
    with closing(sqlite3.connect(shop.yard.path, isolation_level=None)) as connection:
        connection.execute("PRAGMA foreign_keys = ON")
        yield connection
        if connection.in_transaction:
            connection.execute("ROLLBACK")
    assert whole(shop.yard) == before


def refused(plain: sqlite3.Connection, *statements: str, deed: bool = True) -> str:
    """Run statements as one transaction, within a deed, and return what the database said against it."""
    plain.execute("BEGIN IMMEDIATE")
    try:
        for statement in (*OPEN, *statements, *CLOSE) if deed else statements:
            plain.execute(statement)
        plain.execute("COMMIT")
    except sqlite3.IntegrityError as error:
        plain.execute("ROLLBACK")
        return str(error)
    raise AssertionError("the database let it pass")


def tag(plain: sqlite3.Connection, state: str) -> str:
    (found,) = plain.execute(
        "SELECT tag FROM piece WHERE state = ? ORDER BY rowid LIMIT 1", (state,)
    ).fetchone()
    return str(found)


NEW = {
    "new piece": "INSERT INTO piece (tag, material_id, kind, length, width, state, place_id, shelved_at)",
    "new part": "INSERT INTO cut_part (tag, name, length, width, count)",
}
Refusal = tuple[str, list[str], str]
WITHIN_A_DEED: list[Refusal] = [
    ("cut and on the rack", ["UPDATE piece SET place_id = 1 WHERE tag = '{cut}'"], "CHECK"),
    (
        "cut back on the rack",
        ["UPDATE piece SET state = 'racked', plan_id = NULL, place_id = 1 WHERE tag = '{cut}'"],
        "cannot go",
    ),
    (
        "cut without a cutting",
        ["UPDATE piece SET state = 'cut', place_id = NULL WHERE tag = '{racked}'"],
        "cutting is recorded",
    ),
    ("racked nowhere", ["UPDATE piece SET place_id = NULL WHERE tag = '{racked}'"], "CHECK"),
    (
        "gone for no reason",
        ["UPDATE piece SET state = 'gone', place_id = NULL WHERE tag = '{racked}'"],
        "CHECK",
    ),
    (
        "an offcut grown",
        ["UPDATE piece SET length = length + 1 WHERE parent IS NOT NULL"],
        "area out of nothing",
    ),
    ("scrap shrunk", ["UPDATE cutting SET scrap = scrap - 1"], "area out of nothing"),
    ("a part more", ["{new part} VALUES ('{cut}', 'x', 1, 1, 1)"], "area out of nothing"),
    ("a part less", ["DELETE FROM cut_part"], "area out of nothing"),
    ("an offcut less", ["DELETE FROM piece WHERE parent IS NOT NULL"], "out of nothing"),
    ("parts of an uncut piece", ["{new part} VALUES ('{racked}', 'x', 1, 1, 1)"], "only a cut piece"),
    (
        "an offcut of an uncut piece",
        [
            "INSERT INTO tag VALUES (900, 'ZZZZZ')",
            "INSERT INTO piece (tag, material_id, kind, length, width, state, parent, shelved_at) VALUES "
            "('ZZZZZ', 1, 'offcut', 1, 1, 'bench', '{racked}', 'x')",
        ],
        "only a cut piece",
    ),
    ("money out of nothing", ["UPDATE cutting SET cost = cost + 1"], "money out of nothing"),
    ("a cut piece measured again", ["UPDATE piece SET length = length - 1 WHERE tag = '{cut}'"], "settled"),
    (
        "promised twice",
        ["UPDATE piece SET plan_id = 99 WHERE tag = '{promised}'"],
        "promised to another plan",
    ),
    ("promised by nobody", ["UPDATE piece SET state = 'promised' WHERE tag = '{racked}'"], "CHECK"),
    (
        "promised by a plan that does not name it",
        ["UPDATE piece SET state = 'promised', plan_id = 1 WHERE tag = '{racked}'"],
        "names it",
    ),
    (
        "freed behind its plan's back",
        ["UPDATE piece SET state = 'racked', plan_id = NULL WHERE tag = '{promised}'"],
        "promises every piece",
    ),
    (
        "a plan released with its pieces",
        ["UPDATE plan SET state = 'released', why = 'x'"],
        "plan that stands|no longer stands",
    ),
    (
        "two plans of a job",
        [
            "INSERT INTO plan (job_id, number, state, status, body, made_at) SELECT job_id, 2, state, "
            "status, body, made_at FROM plan",
        ],
        "UNIQUE",
    ),
    (
        "a layout on a free piece",
        [
            "INSERT INTO layout (plan_id, number, tag, material_id, length, width, gives) SELECT "
            "plan_id, 9, '{racked}', material_id, length, width, gives FROM layout LIMIT 1",
        ],
        "promises every piece",
    ),
    ("a part moved", ["UPDATE layout_part SET x = 1"], "stays where it was verified"),
    ("a leftover grown", ["UPDATE layout_leftover SET length = length + 1"], "stays as it was verified"),
    ("a part taken out of a plan", ["DELETE FROM layout_part"], "kept whole"),
    ("a leftover taken out of a plan", ["DELETE FROM layout_leftover"], "kept whole"),
    (
        "a part added to a plan",
        [
            "INSERT INTO layout_part (layout_id, line, name, length, width, x, y)"
            " VALUES (1, 9, 'x', 1, 1, 0, 0)",
        ],
        "stored whole",
    ),
    (
        "a cut added to a plan",
        [
            "INSERT INTO layout_cut (layout_id, step, piece, direction, at, fence)"
            " VALUES (1, 9, 'stock', 'rip', 1, 1)",
        ],
        "stored whole",
    ),
    (
        "a leftover added to a plan",
        [
            "INSERT INTO layout_leftover (layout_id, line, tag, x, y, length, width)"
            " SELECT 1, 9, code, 0, 0, 1, 1 FROM tag LIMIT 1",
        ],
        "stored whole",
    ),
    (
        "a tag given twice",
        ["INSERT INTO tag VALUES (1000, (SELECT code FROM tag LIMIT 1))"],
        "given out once",
    ),
    ("a tag replaced", ["INSERT OR REPLACE INTO tag VALUES (0, 'ZZZZZ')"], "given out once"),
    (
        "a tag used again",
        [
            "DELETE FROM piece WHERE tag = '{racked}'",
            "{new piece} VALUES ('{racked}', 1, 'full', 1, 1, 'racked', 1, 'x')",
        ],
        "used once ever",
    ),
    ("a tag never given", ["{new piece} VALUES ('QQQQQ', 1, 'full', 1, 1, 'racked', 1, 'x')"], "FOREIGN KEY"),
    ("a tag changed", ["UPDATE piece SET tag = 'QQQQQ' WHERE tag = '{racked}'"], "key of a piece"),
    (
        "a piece replaced",
        [
            "INSERT OR REPLACE INTO piece (tag, material_id, kind, length, width, state, place_id, "
            "shelved_at) SELECT tag, material_id, kind, 1, 1, state, place_id, shelved_at FROM piece "
            "WHERE state = 'racked'",
        ],
        "used once ever|there already",
    ),
    ("its own parent", ["UPDATE piece SET parent = tag, kind = 'offcut'"], "cannot be changed|CHECK"),
    (
        "a full piece from another",
        ["UPDATE piece SET kind = 'full' WHERE parent IS NOT NULL"],
        "cannot be changed|CHECK",
    ),
    ("a place in itself", ["UPDATE place SET inside_id = id WHERE id = 1"], "inside itself|CHECK"),
    (
        "a place in itself around a corner",
        [
            "UPDATE place SET inside_id = 2 WHERE id = 1",
            "UPDATE place SET inside_id = 3 WHERE id = 2",
            "UPDATE place SET inside_id = 1 WHERE id = 3",
        ],
        "inside itself",
    ),
    ("a place removed with its pieces", ["DELETE FROM place"], "FOREIGN KEY"),
    ("a negative size", ["UPDATE piece SET length = -1 WHERE state = 'racked'"], "CHECK"),
    (
        "a size that is no number",
        ["UPDATE piece SET length = 'long' WHERE state = 'racked'"],
        "cannot store TEXT",
    ),
    ("a document changed", ["UPDATE document SET body = 'x'"], "kept as it was"),
    ("a document removed", ["DELETE FROM document"], "kept as it was"),
    (
        "an entry forged",
        ["INSERT INTO entry (deed_id, thing, thing_key, was, now) VALUES (1, 'piece', 'x', NULL, '{{}}')"],
        "deed that is open",
    ),
    ("a deed about nothing", ["SELECT 1"], "changes something"),
    ("a second deed opened", [OPEN[0], OPEN[1]], "one at a time"),
    (
        "an entry replaced",
        ["INSERT OR REPLACE INTO entry SELECT 3, deed_id, 'a', 'b', NULL, '{{}}' FROM open_deed"],
        "after all others",
    ),
]

WITHOUT_A_DEED: list[tuple[str, str, str]] = [
    ("a piece changed", "UPDATE piece SET note = 'x'", "through its ledger"),
    ("a piece removed", "DELETE FROM piece", "through its ledger"),
    ("a setting added", "INSERT INTO setting VALUES ('x', 'y')", "through its ledger"),
    ("an entry changed", "UPDATE entry SET now = NULL WHERE id = 3", "cannot be changed"),
    ("an entry removed", "DELETE FROM entry WHERE id = 3", "cannot be deleted"),
    (
        "an entry replaced",
        "INSERT OR REPLACE INTO entry SELECT * FROM entry WHERE id = 3",
        "deed that is open",
    ),
    (
        "an entry slipped in",
        "INSERT INTO entry (deed_id, thing, thing_key, now) VALUES (1, 'a', 'b', '{}')",
        "open",
    ),
    ("a deed changed", "UPDATE deed SET at = '2020-01-01T00:00:00Z'", "cannot be changed"),
    ("a deed removed", "DELETE FROM deed WHERE id = 2", "cannot be deleted"),
    ("a deed replaced", "INSERT OR REPLACE INTO deed SELECT * FROM deed WHERE id = 2", "after all others"),
    ("an old deed opened", "INSERT INTO open_deed (deed_id) VALUES (2)", "only a new deed"),
]


@pytest.mark.parametrize(("what", "statements", "said"), WITHIN_A_DEED, ids=[w[0] for w in WITHIN_A_DEED])
def test_refused_within_a_deed(
    plain: sqlite3.Connection, what: str, statements: list[str], said: str
) -> None:
    tags = {state: tag(plain, state) for state in ("racked", "promised", "cut")}
    message = refused(plain, *(s.format(**tags, **NEW) for s in statements))
    assert any(word in message for word in said.split("|")), f"{what}: {message}"


@pytest.mark.parametrize(("what", "statement", "said"), WITHOUT_A_DEED, ids=[w[0] for w in WITHOUT_A_DEED])
def test_refused_without_a_deed(plain: sqlite3.Connection, what: str, statement: str, said: str) -> None:
    assert said in refused(plain, statement, deed=False), what


def test_a_deed_left_open_cannot_be_committed(plain: sqlite3.Connection) -> None:
    plain.execute("BEGIN")
    for statement in (*OPEN, "UPDATE setting SET value = '7' WHERE name = 'backups'"):
        plain.execute(statement)
    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
        plain.execute("COMMIT")


def test_a_piece_of_a_hundred_metres_is_the_largest(plain: sqlite3.Connection) -> None:
    assert "CHECK" in refused(plain, f"UPDATE piece SET length = {100_000 * MM + 1} WHERE state = 'racked'")
