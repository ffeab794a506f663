"""Schema steps: from every earlier version, backed up first; a newer file is refused unharmed."""

from __future__ import annotations

import shutil
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from stockyard import yard
from stockyard.errors import Refused
from stockyard.settings import Settings
from stockyard.yard import backup, materials, pieces, schema, schema_page
from stockyard.yard.check import check
from tests.yard.shop import Shop, full, whole

OLD = Path(__file__).parent.parent / "data" / "yards"


def test_the_page_about_the_schema_is_current() -> None:
    assert schema_page.PAGE.read_text(encoding="utf-8") == schema_page.page()


def test_every_statement_is_short_enough_for_the_step_runner() -> None:
    """sqlite-utils splits a script in time that grows with the square of one statement's length."""
    for step in schema.steps():
        for statement in step.sql.split(";\n\n"):
            assert len(statement) < 6000, step.name


def test_every_released_version_has_a_file_kept() -> None:
    assert {f.name for f in OLD.glob("*.db")} >= {f"step-{schema.latest()}.db"}


@pytest.mark.parametrize("kept", sorted(OLD.glob("*.db")), ids=lambda p: p.stem)
def test_an_old_file_is_brought_up_to_date_after_a_backup(kept: Path, tmp_path: Path) -> None:
    path = tmp_path / "yard.db"
    shutil.copy(kept, path)
    with closing(sqlite3.connect(path)) as db:
        before = db.execute("PRAGMA user_version").fetchone()[0]
        tags = [row[0] for row in db.execute("SELECT tag FROM piece ORDER BY tag")]
    with yard.open(path) as y:
        assert check(y) == ()
        assert [r["tag"] for r in y.rows("SELECT tag FROM piece ORDER BY tag")] == tags
        pieces.shelve(y, [full(materials.materials(y)[0], 1, at=y.one("SELECT code FROM place"))])
        assert check(y) == ()
    assert len(backup.backups(path)) == (before < schema.latest())


def test_a_step_is_in_the_ledger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A step that adds a column and one that fills it: journalled, backed up, undone by nobody."""
    shop_path = tmp_path / "yard.db"
    from tests.yard.shop import make_shop

    make_shop(shop_path).yard.close()
    last = schema.latest()
    more = (
        schema.Step(
            last + 1,
            f"{last + 1:04}_colour",
            "ALTER TABLE piece ADD COLUMN colour TEXT NOT NULL DEFAULT '-';",
        ),
        schema.Step(
            last + 2, f"{last + 2:04}_fill", "UPDATE piece SET colour = 'red' WHERE kind = 'offcut';"
        ),
    )
    steps = schema.steps() + more
    monkeypatch.setattr(schema, "steps", lambda: steps)
    with yard.open(shop_path) as y:
        assert check(y) == ()
        assert [r["colour"] for r in y.rows("SELECT colour FROM piece ORDER BY rowid")] == ["-"] * 4 + ["red"]
        assert y.one("SELECT says FROM deed ORDER BY id DESC") == f"schema step {last} to {last + 2}"
    assert len(backup.backups(shop_path)) == 1


def test_a_step_that_fails_leaves_the_yard_as_it_was(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from tests.yard.shop import make_shop

    shop = make_shop(tmp_path / "yard.db")
    before = whole(shop.yard)
    shop.yard.close()
    last = schema.latest()
    bad = schema.Step(
        last + 1, f"{last + 1:04}_bad", "ALTER TABLE piece ADD COLUMN x TEXT; SELECT * FROM nowhere;"
    )
    steps = schema.steps()
    monkeypatch.setattr(schema, "steps", lambda: (*steps, bad))
    with pytest.raises(Refused, match="no such table: nowhere"):
        yard.open(tmp_path / "yard.db")
    monkeypatch.setattr(schema, "steps", lambda: steps)
    with yard.open(tmp_path / "yard.db") as y:
        assert whole(y) == before
        assert check(y) == ()


def test_a_newer_file_is_refused_unharmed(shop: Shop) -> None:
    with closing(sqlite3.connect(shop.yard.path)) as db:
        db.execute("PRAGMA user_version = 999")
    content = shop.yard.path.read_bytes()
    with pytest.raises(Refused, match="written by a newer stockyard"):
        yard.open(shop.yard.path)
    assert shop.yard.path.read_bytes() == content
    shop.yard.connection.execute(f"PRAGMA user_version = {schema.latest()}")


def test_the_journal_covers_every_column(shop: Shop) -> None:
    for table in schema.journalled(shop.yard.connection):
        sql = shop.yard.one("SELECT sql FROM sqlite_schema WHERE name = ?", (f"journal_{table}_update",))
        for name in schema.columns(shop.yard.connection, table).names:
            assert f"'{name}' AS field" in sql


def test_the_views_answer(shop: Shop) -> None:
    for (name,) in shop.yard.rows("SELECT name FROM sqlite_schema WHERE type = 'view'"):
        shop.yard.rows(f"SELECT * FROM {name}")
    rack = {r["tag"]: r["on_top_of_it"] for r in shop.yard.rows("SELECT * FROM on_the_racks")}
    assert rack == {p.tag: p.depth for p in pieces.on_hand(shop.yard)}
    # Four sheets at 60.0000 and an offcut that carries 7.0001.
    (worth,) = shop.yard.rows("SELECT * FROM worth")
    assert (worth["full_pieces"], worth["offcuts"], worth["carried_cost"]) == (4, 1, 247.0001)


def test_a_step_makes_only_the_triggers_anew_that_it_changes(tmp_path: Path) -> None:
    """A column more: one table's three writers of entries, with it in them; all others stay as they are."""
    yard.new(tmp_path / "yard.db", Settings()).close()
    with closing(sqlite3.connect(tmp_path / "yard.db")) as connection:

        def triggers() -> set[tuple[str, str]]:
            rows = connection.execute("SELECT name, sql FROM sqlite_schema WHERE type = 'trigger'")
            return set(rows.fetchall())

        before = triggers()
        connection.execute("ALTER TABLE place ADD COLUMN colour TEXT")
        made: list[str] = []
        connection.set_trace_callback(lambda text: made.append(text) if "TRIGGER" in text else None)
        schema.make_journal(connection)
        names = {f"journal_place_{verb}" for verb in ("insert", "update", "delete")}
        assert {name for name, _ in triggers() - before} == names
        assert all("colour" in text for name, text in triggers() if name in names)
        assert len(made) == 6
