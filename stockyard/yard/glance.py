"""A glance at the names in a yard, for completing a word at a shell: nothing is waited for or written."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

from stockyard.errors import Refused
from stockyard.yard import files, schema
from stockyard.yard.store import connect
from stockyard.yard.trouble import said_plainly

MOST = 200
_WAIT_SECONDS = 0.2
_BEGUN = "lower(substr(word, 1, length(:begun))) = lower(:begun)"
_ASKED = {
    "job": "SELECT name AS word, state AS about, (state = 'done') * 1e9 - id AS rank FROM job"
    " WHERE state <> 'dropped'",
    "tag": "SELECT p.tag AS word, m.name || ' ' || m.thickness_name || coalesce(', ' || w.code, '') AS about,"
    " p.rowid AS rank FROM piece p JOIN material m ON m.id = p.material_id"
    " LEFT JOIN place w ON w.id = p.place_id WHERE p.state IN ('racked', 'promised', 'pulled', 'bench')",
    "place": "SELECT code AS word, storage AS about, walk AS rank FROM place WHERE retired = 0",
    "material": "SELECT name || ' ' || thickness_name AS word, form AS about, id AS rank FROM material"
    " WHERE retired = 0",
}


def begun_with(path: Path, kind: str, begun: str) -> tuple[tuple[str, str], ...]:
    """Return the names of a kind (job, tag, place, material) that begin so, each with a word about it.

    Raises:
        StockyardError: the file is no yard of this version, or cannot be read at once.
    """
    path = files.resolved(path)
    with said_plainly(path), closing(connect(path, _WAIT_SECONDS, writable=False)) as db:
        if schema.version(db) != schema.latest():
            raise Refused(f"{path} is not of this version")
        sql = f"SELECT word, about FROM ({_ASKED[kind]}) WHERE {_BEGUN} ORDER BY rank LIMIT {MOST}"
        return tuple((row["word"], row["about"]) for row in db.execute(sql, {"begun": begun}))
