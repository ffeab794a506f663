"""Check: a sound yard passes; of each kind of damage, the database refuses it or check names it."""

from __future__ import annotations

import re
import shutil
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.errors import StockyardError
from stockyard.yard import cutting, exchange, pulling, undo
from stockyard.yard.check import check
from stockyard.yard.fold import Entry, fold
from tests.yard.shop import Shop, make_shop, plan_for, state_of


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A closed yard in which something of everything happened."""
    shop = make_shop(tmp_path_factory.mktemp("made") / "yard.db")
    plan_for(shop, shop.sheets[0], shop.sheets[1])
    pulling.pull(shop.yard, [shop.sheets[0].tag])
    done = cutting.confirm_cut(shop.yard, shop.sheets[0].tag)
    cutting.return_offcut(shop.yard, done.offcuts[0].tag, "R1-B1")
    pulling.report_gone(shop.yard, shop.sheets[3].tag, "warped")
    undo.undo(shop.yard)
    assert check(shop.yard) == ()
    shop.yard.close()
    return shop.yard.path


@pytest.fixture
def busy(made: Path, tmp_path: Path) -> Path:
    """A copy of it to damage."""
    return Path(shutil.copy(made, tmp_path / "yard.db"))


def without_rules(path: Path, *statements: str) -> None:
    """Damage a yard by plain SQL after lifting its triggers, and put the triggers back."""
    with closing(sqlite3.connect(path, isolation_level=None)) as db:
        db.execute("PRAGMA ignore_check_constraints = ON")
        db.execute("BEGIN")
        kept = db.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for name, _ in kept:
            db.execute(f'DROP TRIGGER "{name}"')
        for statement in statements:
            db.execute(statement)
        for _, sql in kept:
            db.execute(sql)
        db.execute("COMMIT")


DAMAGE: list[tuple[str, str, str]] = [
    (
        "a piece moved",
        "UPDATE piece SET place_id = 2 WHERE tag = '{free}'",
        "{free} has place_id 2, the ledger adds up to 1",
    ),
    ("a piece grown", "UPDATE piece SET length = length + 1 WHERE tag = '{free}'", "{free} has length"),
    (
        "a state changed",
        "UPDATE piece SET state = 'promised' WHERE tag = '{free}'",
        "{free} is promised by no plan",
    ),
    (
        "a cost changed",
        "UPDATE piece SET cost = 1 WHERE tag = '{free}'",
        "{free} has cost 1, the ledger adds up to 600000",
    ),
    (
        "a piece removed",
        "DELETE FROM piece WHERE tag = '{free}'",
        "piece {free} is missing, the ledger has it",
    ),
    (
        "a piece added",
        "INSERT INTO piece (tag, material_id, kind, length, width, state, shelved_at) VALUES "
        "('{new}', 1, 'full', 1, 1, 'bench', 'x')",
        "piece {new} is there, but the ledger knows nothing",
    ),
    ("a layer changed", "UPDATE piece SET layer = 1000 WHERE tag = '{free}'", "{free} has layer 1000"),
    ("scrap forged", "UPDATE cutting SET scrap = scrap + 5", "{cut} gave"),
    ("a cutting removed", "DELETE FROM cutting", "{cut} is cut without a cutting"),
    ("parts removed", "DELETE FROM cut_part", "{cut} gave"),
    ("a parent lost", "DELETE FROM piece WHERE tag = '{cut}'", "points at a row of piece that is not there"),
    (
        "a promise lost",
        "UPDATE piece SET plan_id = NULL, state = 'racked' WHERE tag = '{promised}'",
        "does not hold its piece {promised}",
    ),
    (
        "a plan's state changed",
        "UPDATE plan SET state = 'done'",
        "{promised} is promised by no plan that stands",
    ),
    ("a place in itself", "UPDATE place SET inside_id = 1 WHERE id = 1", "place 1 is inside itself"),
    ("a setting changed", "UPDATE setting SET value = '9' WHERE name = 'kerf'", "setting kerf has value 9"),
    (
        "an entry changed",
        "UPDATE entry SET now = json_set(now, '$.cost', 7) WHERE thing = 'piece' AND was IS NULL",
        "the ledger adds up to 7",
    ),
    (
        "an entry removed",
        "DELETE FROM entry WHERE id = (SELECT max(id) - 3 FROM entry)",
        "the lines of its entries are lost:",
    ),
    (
        "the last entry removed",
        "DELETE FROM entry WHERE id = (SELECT max(id) FROM entry)",
        "the lines of its entries are lost:",
    ),
    (
        "entries swapped",
        "UPDATE entry SET deed_id = 3 WHERE id = (SELECT max(id) FROM entry)",
        "added after a later entry",
    ),
    (
        "an undo forged",
        "UPDATE entry SET now = json_set(now, '$.gone_because', 'x') WHERE deed_id = (SELECT "
        "max(id) FROM deed)",
        "is not the opposite of entry",
    ),
    (
        "an entry of a row made twice",
        "UPDATE entry SET was = NULL WHERE thing = 'piece' AND was IS NOT NULL AND now IS NOT NULL",
        "made a second time",
    ),
    (
        "an entry of a row never made",
        "UPDATE entry SET thing_key = 'ABCDE' WHERE id = (SELECT max(id) FROM entry)",
        "changed before it was made",
    ),
    (
        "an entry that is no JSON",
        "UPDATE entry SET now = '{{' WHERE id = (SELECT max(id) FROM entry)",
        "cannot be read|integrity",
    ),
    ("a deed removed", "DELETE FROM deed WHERE id = 6", "the ledger's entries are lost:"),
    ("a deed with nothing in it", "DELETE FROM entry WHERE deed_id = 6", "entry 6 has nothing in it"),
    ("a deed left open", "INSERT INTO open_deed (deed_id) VALUES (1)", "entry 1 was left open"),
    ("a tag renumbered", "UPDATE tag SET number = 500 WHERE number = 3", "tag number 500 is"),
    ("a tag list cut short", "DELETE FROM tag WHERE number = 3", "lost from the list of tags|not there"),
    ("a document changed", "UPDATE document SET body = 'another text'", "was changed after it was kept"),
    ("a text removed", "DELETE FROM document", "points at a row of document"),
    ("a table added", "CREATE TABLE x (y)", "the schema has a table x that is not ours"),
    (
        "a flaw outside its piece",
        "UPDATE piece SET flaws = '[[0,0,9999999999,1]]' WHERE tag = '{free}'",
        "{free} has a flaw that reaches out of it",
    ),
    ("a flaw moved", "UPDATE piece SET flaws = '[[0,0,1,1]]' WHERE tag = '{free}'", "{free} has flaws"),
    ("a size below nothing", "UPDATE piece SET width = -5 WHERE tag = '{free}'", "{free} has width -5"),
]


def names(path: Path) -> dict[str, str]:
    """Return the tags the damage is done to."""
    with closing(sqlite3.connect(path)) as db:
        one = "SELECT tag FROM piece WHERE state = ? AND kind = 'full' ORDER BY rowid"
        states = {"free": "racked", "cut": "cut", "promised": "promised"}
        found = {name: db.execute(one, (state,)).fetchone()[0] for name, state in states.items()}
        used = "SELECT code FROM tag WHERE code NOT IN (SELECT tag FROM piece)"
        return found | {"new": db.execute(used).fetchone()[0]}


@pytest.mark.parametrize(("what", "statement", "said"), DAMAGE, ids=[d[0] for d in DAMAGE])
def test_damage_by_plain_sql_is_named(busy: Path, what: str, statement: str, said: str) -> None:
    tags = names(busy)
    without_rules(busy, statement.format(**tags))
    with yard.open(busy) as y:
        found = check(y)
    text = "\n".join(d.what for d in found)
    assert any(words in text for words in said.format(**tags).split("|")), f"{what}: {text}"
    assert all(d.mend for d in found)
    # A person who keeps the record knows entries of its ledger; "deed" is our own word.
    assert not re.search(r"\bdeeds?\b", text)


@pytest.mark.parametrize(
    "trigger", ["deed_is_kept", "piece_goes_one_way", "close_area", "journal_piece_update"]
)
def test_a_lifted_rule_is_named(busy: Path, trigger: str) -> None:
    with closing(sqlite3.connect(busy)) as db:
        db.execute(f"DROP TRIGGER {trigger}")
    with yard.open(busy) as y:
        assert [d.what for d in check(y)] == [f"the schema lacks the trigger {trigger}"]


def test_a_dropped_index_is_named(busy: Path) -> None:
    with closing(sqlite3.connect(busy)) as db:
        db.execute("DROP INDEX piece_at_place")
    with yard.open(busy) as y:
        assert [d.what for d in check(y)] == ["the schema lacks the index piece_at_place"]


def overwrite(at: int, content: bytes) -> Callable[[Path], None]:
    def damage(path: Path) -> None:
        with path.open("r+b") as file:
            file.seek(at)
            file.write(content)

    return damage


def cut_short(path: Path) -> None:
    with path.open("r+b") as file:
        file.truncate(path.stat().st_size // 2)


BYTES: list[tuple[str, Callable[[Path], None]]] = [
    ("no header", overwrite(0, b"not a database, really")),
    ("half the file", cut_short),
    ("a page of nothing", overwrite(4096 * 9, bytes(4096))),
    ("rubbish in the middle", overwrite(4096 * 12, b"\xff" * 4096 * 3)),
    ("the schema page", overwrite(100, b"\xff" * 400)),
    ("an empty file", lambda path: path.write_bytes(b"")),
]


@pytest.mark.parametrize(("what", "damage"), BYTES, ids=[b[0] for b in BYTES])
def test_damaged_bytes_are_told_in_one_line(busy: Path, what: str, damage: Callable[[Path], None]) -> None:
    with closing(sqlite3.connect(busy)) as db:
        db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    damage(busy)
    try:
        with yard.open(busy) as y:
            found = check(y)
    except StockyardError as error:
        assert "\n" not in str(error)
    else:
        assert found, what


def test_a_damaged_row_is_mended_by_rebuilding_from_the_ledger(busy: Path, tmp_path: Path) -> None:
    with yard.open(busy) as y:
        sound = state_of(y)
    without_rules(
        busy, "UPDATE piece SET place_id = 2, length = 5 WHERE place_id = 1", "DELETE FROM place WHERE id = 3"
    )
    with yard.open(busy) as y:
        assert check(y)
        exchange.rebuild(y, tmp_path / "new.db")
    with yard.open(tmp_path / "new.db") as y:
        assert (check(y), state_of(y)) == ((), sound)


def test_the_fold_is_the_state_entry_by_entry() -> None:
    entries = [
        Entry(1, 1, "piece", "A", None, {"state": "racked", "layer": 1}),
        Entry(2, 2, "piece", "A", {"state": "racked"}, {"state": "gone", "why": "x"}),
        Entry(3, 3, "piece", "A", {"state": "gone", "why": "x"}, {"state": "racked", "why": None}),
    ]
    assert fold(entries).state == {"piece": {"A": {"state": "racked", "layer": 1}}}
    assert fold(entries).broken == []
    assert fold(entries[:1] + entries[2:]).broken == [
        "entry 3, line 3, about piece A: it had another state, why before"
    ]


def test_a_check_changes_nothing(shop: Shop) -> None:
    before = shop.yard.path.read_bytes(), shop.yard.connection.total_changes
    check(shop.yard)
    assert (shop.yard.path.read_bytes(), shop.yard.connection.total_changes) == before
