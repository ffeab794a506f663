"""The chain of seals: made again as the page about the schema says, and broken by any change of the past."""

from __future__ import annotations

import hashlib
import json
import random
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.errors import StockyardError
from stockyard.yard import materials, pieces, pulling, seal, undo
from stockyard.yard.check import check
from tests.yard.shop import full, make_shop, plan_for, whole
from tests.yard.test_check import without_rules

OLD = Path(__file__).parent.parent / "data" / "yards"
# The defaults that db/README.md shows for columns of these two tables.
USUAL = {"deed": {"station": "desk"}, "entry": {}}


@pytest.fixture
def lived(tmp_path: Path) -> Path:
    """A closed yard with a plan, a pull, an undo and a station in its ledger."""
    shop = make_shop(tmp_path / "yard.db")
    plan_for(shop, shop.sheets[0], shop.sheets[1])
    shop.yard.station = "säge"
    pulling.pull(shop.yard, [shop.sheets[0].tag])
    undo.undo(shop.yard)
    shop.yard.close()
    return tmp_path / "yard.db"


def by_the_page(path: Path) -> list[str]:
    """Work out every seal from the file alone, as db/README.md tells a stranger."""
    with closing(sqlite3.connect(path)) as db:
        db.row_factory = sqlite3.Row

        def fields(table: str, row: sqlite3.Row) -> dict[str, object]:
            return {
                name: row[name]
                for name in row.keys()  # noqa: SIM118 - a row is no dictionary
                if row[name] is not None and USUAL[table].get(name) != row[name]
            }

        found, before = [], "0" * 64
        lates = dict(db.execute("SELECT deed_id, late FROM seal").fetchall())
        for deed in db.execute("SELECT * FROM deed ORDER BY id").fetchall():
            rows = db.execute("SELECT * FROM entry WHERE deed_id = ? ORDER BY id", (deed["id"],)).fetchall()
            text = before + "\n" + json.dumps(fields("deed", deed))
            text += "\n" + json.dumps([fields("entry", row) for row in rows])
            text += "\nlate" * lates[deed["id"]]
            before = hashlib.sha256(text.encode()).hexdigest()
            found.append(before)
        return found


def kept(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as db:
        return [digest for (digest,) in db.execute("SELECT digest FROM seal ORDER BY deed_id")]


def test_every_deed_has_the_seal_that_the_page_describes(lived: Path) -> None:
    assert len(kept(lived)) > 8
    assert kept(lived) == by_the_page(lived)
    with closing(sqlite3.connect(lived)) as db:
        assert db.execute("SELECT count(*) FROM seal WHERE late").fetchone() == (0,), "each as it was closed"


CHANGES = [
    "UPDATE deed SET says = says || '.' WHERE id = 4",
    "UPDATE deed SET at = '2026-02-01T00:00:00Z' WHERE id = 4",
    "UPDATE deed SET what = 'other' WHERE id = 4",
    "UPDATE deed SET undoes = undoes - 1 WHERE undoes IS NOT NULL",
    "UPDATE deed SET undoes = NULL",
    "UPDATE deed SET station = 'page' WHERE id = 4",
    "UPDATE deed SET station = 'desk'",
    "UPDATE entry SET now = json_set(now, '$.nothing', NULL) WHERE id = (SELECT max(id) FROM entry)",
    "UPDATE entry SET now = now || ' ' WHERE id = 5",
    "UPDATE entry SET was = '{}', now = now WHERE id = (SELECT max(id) - 1 FROM entry)",
    "UPDATE seal SET digest = replace(digest, substr(digest, 1, 1), 'x') WHERE deed_id = 3",
    "UPDATE seal SET late = 1 WHERE deed_id = 3",
    "DELETE FROM seal WHERE deed_id = 3",
    "DELETE FROM seal WHERE deed_id = (SELECT max(id) FROM deed)",
    "INSERT INTO seal SELECT 1000, digest, 0 FROM seal WHERE deed_id = 1",
]


@pytest.mark.parametrize("statement", CHANGES)
def test_any_change_of_the_past_is_seen(lived: Path, statement: str) -> None:
    without_rules(lived, statement)
    with yard.open(lived) as y:
        assert "seal" in "\n".join(d.what for d in check(y))


def test_a_deed_made_with_another_program_has_no_seal(lived: Path) -> None:
    with closing(sqlite3.connect(lived, isolation_level=None)) as db:
        db.execute("BEGIN")
        db.execute("INSERT INTO deed (at, what, says) VALUES ('2026-05-01T00:00:00Z', 'x', 'by hand')")
        db.execute("INSERT INTO open_deed (deed_id) SELECT max(id) FROM deed")
        db.execute("UPDATE setting SET value = '20' WHERE name = 'backups'")
        db.execute("DELETE FROM open_deed")
        db.execute("COMMIT")
    with yard.open(lived) as y:
        pieces.move(y, [pieces.on_hand(y)[0].tag], "R2")
        (found,) = check(y)
    assert "has no seal" in found.what


@pytest.mark.parametrize("old", ["step-3.db", "step-4.db"])
def test_an_older_yard_is_sealed_when_it_is_brought_up_to_date(tmp_path: Path, old: str) -> None:
    path = tmp_path / "yard.db"
    shutil.copy(OLD / old, path)
    with yard.open(path) as y:
        last = seal.last_seal(y.connection)
        assert last is not None
        assert last.late_to == last.deed - 1
        pieces.move(y, [pieces.on_hand(y)[0].tag], "R2")
        after = seal.last_seal(y.connection)
        assert after is not None
        assert after.late_to == last.late_to
        assert check(y) == ()
    assert kept(path) == by_the_page(path)
    without_rules(path, "UPDATE deed SET says = says || '.' WHERE id = 2")
    with yard.open(path) as y:
        assert "entry 2, or its seal" in check(y)[0].what


def dump(path: Path) -> object:
    """Return every row of every table, and the last numbers given."""
    with yard.open(path) as y:
        return whole(y), [tuple(r) for r in y.rows("SELECT name, seq FROM sqlite_sequence ORDER BY name")]


@pytest.mark.parametrize("flips", [60, pytest.param(1000, marks=pytest.mark.slow)])
def test_a_flipped_byte_is_noticed_or_changes_nothing(lived: Path, tmp_path: Path, flips: int) -> None:
    """Also of a yard as large as some pages of each kind; a flip that `check` passes leaves an equal dump."""
    with yard.open(lived) as y:
        pieces.shelve(y, [full(materials.materials(y)[0], 40)])
        y.connection.execute("PRAGMA journal_mode = DELETE")
    before = dump(lived)
    with closing(sqlite3.connect(lived)) as db:
        db.execute("PRAGMA journal_mode = DELETE")
    sound = lived.read_bytes()
    rng = random.Random(flips)
    noticed = 0
    for n in range(flips):
        at, bit = rng.randrange(len(sound)), 1 << rng.randrange(8)
        path = tmp_path / f"flip{n}" / "yard.db"
        path.parent.mkdir()
        path.write_bytes(sound[:at] + bytes([sound[at] ^ bit]) + sound[at + 1 :])
        try:
            with yard.open(path) as y:
                found = check(y)
        except StockyardError as error:
            assert "\n" not in str(error)
            found = (str(error),)  # type: ignore[assignment]
        if found:
            noticed += 1
        else:
            assert dump(path) == before, (at, bit)
        shutil.rmtree(path.parent)
    assert noticed > flips / 4
