"""What is laid aside beside the yard until it enters the record: a file each, by name in any case."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from stockyard.errors import BadInput
from stockyard.whole import write_whole
from stockyard.yard.store import Yard


def lay_aside(yard: Yard, name: str, body: Mapping[str, Any]) -> Path:
    """Keep `body` under a name, in place of what was laid aside under it before.

    Raises:
        BadInput: no name, or the folder beside the yard can not be written.
    """
    if not name.strip():
        raise BadInput("a list laid aside needs a name")
    path = path_of(yard, name)
    try:
        path.parent.mkdir(exist_ok=True)
    except OSError as error:
        raise BadInput(f"{path.parent}: {error.strerror or error}: the answers can not be kept") from None
    text = json.dumps({"name": name, **body}, ensure_ascii=False, indent=1)
    write_whole(path, text.encode("utf-8"))
    return path


def take_up(yard: Yard, name: str) -> Mapping[str, Any]:
    """Return what was laid aside under a name.

    Raises:
        BadInput: there is none, with the names of those there are; or its file cannot be read.
    """
    path = path_of(yard, name)
    if not path.is_file():
        known = ", ".join(sorted(names(yard))) or "none"
        raise BadInput(f"no list is laid aside as '{name[:40]}': there are {known}")
    try:
        body: Mapping[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        raise not_ours(path) from None
    return body


def not_ours(path: Path) -> BadInput:
    """Return what is said of a file that this program did not write."""
    return BadInput(f"{path}: not a list laid aside by this program: paste the list again")


def names(yard: Yard) -> Iterator[str]:
    """Yield the names under which something lies; files that are not ours are passed over."""
    for path in sorted(_folder(yard).glob("*.json")):
        try:
            yield str(json.loads(path.read_text(encoding="utf-8"))["name"])
        except (OSError, ValueError, KeyError, TypeError):
            continue


def drop(yard: Yard, name: str) -> None:
    """Forget what was laid aside under a name, if there is any."""
    path_of(yard, name).unlink(missing_ok=True)


def _folder(yard: Yard) -> Path:
    return yard.path.with_name(yard.path.name + ".lists")


def path_of(yard: Yard, name: str) -> Path:
    """Return the file of a name."""
    key = " ".join(name.casefold().split())
    return _folder(yard) / f"{hashlib.sha256(key.encode('utf-8', 'replace')).hexdigest()[:24]}.json"
