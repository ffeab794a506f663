"""What SQLite says when something goes wrong, in one line that a person can act on."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

from stockyard.errors import BadInput, Refused
from stockyard.text import leaving

_PAGE = 4096
BUSY = "busy"
"""The code of the refusal of a yard that another program is writing."""


@contextmanager
def said_plainly(path: Path, *, new: bool = False) -> Iterator[None]:
    """Turn what SQLite says into one line a person can act on; a `new` file is not to be mended."""
    try:
        yield
    except sqlite3.Error as error:
        try:
            _say(error, path)
        except Refused as said:
            if new and "is damaged" in str(said):
                raise BadInput(f"what is to be kept makes no yard: {leaving(str(error))}") from None
            raise
    except UnicodeDecodeError:
        # In a damaged file SQLite's own words may hold bytes that are no text.
        raise _damaged(path, "it holds text that is none") from None
    except OverflowError:
        raise BadInput("a number is too large to be kept: nothing was changed") from None


def _is_full(path: Path) -> bool:
    """Whether the disk has no room for one page: SQLite does not always say so by that name."""
    try:
        return shutil.disk_usage(path.parent).free < _PAGE
    except OSError:
        return False


def _damaged(path: Path, how: str) -> Refused:
    return Refused(f"{path} is damaged ({how})", "damaged", {"path": path})


def _say(error: sqlite3.Error, path: Path) -> NoReturn:
    name = (getattr(error, "sqlite_errorname", None) or "").removeprefix("SQLITE_")
    text = leaving(str(error))
    if name.startswith(("BUSY", "LOCKED", "PROTOCOL")):
        raise Refused(f"{path} is busy: another program is writing it; try again in a moment", BUSY) from None
    if name == "READONLY_DBMOVED":
        raise Refused(f"{path} was restored or moved meanwhile: do it again; nothing was changed") from None
    if name.startswith("READONLY"):
        raise Refused(f"{path} can only be read: get the right to write it, or name another yard") from None
    if name.startswith("FULL") or (name.startswith(("IOERR", "CANTOPEN")) and _is_full(path)):
        raise Refused(f"the disk of {path} is full: make room and do it again; nothing was changed") from None
    if name.startswith("NOTADB"):
        raise BadInput(f"{path} is not a yard: it is not an SQLite database") from None
    if name.startswith("CORRUPT"):
        raise _damaged(path, text) from None
    if name.startswith("CANTOPEN"):
        raise Refused(f"cannot open {path}: is the folder there, and may you write it?") from None
    if name == "CONSTRAINT_TRIGGER":
        raise Refused(text) from None
    if name.startswith("CONSTRAINT"):
        raise Refused(f"the yard does not allow that ({text}); nothing was changed") from None
    if name.startswith("IOERR"):
        raise Refused(f"cannot read or write {path} ({text}): check the disk; nothing was changed") from None
    if isinstance(error, sqlite3.OperationalError):
        # Our own SQL is sound: a table or column that is not there was there once.
        raise _damaged(path, text) from None
    raise error
