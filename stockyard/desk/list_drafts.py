"""Lists laid aside with the answers given so far: a file each beside the yard, until the job is stored."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from stockyard.desk.job_list import Ways
from stockyard.errors import BadInput
from stockyard.measure import Unit
from stockyard.whole import write_whole
from stockyard.yard.store import Yard


@dataclass(frozen=True, slots=True, kw_only=True)
class ListDraft:
    """A list that is not a job yet: its name, its text as pasted, and how it is to be read."""

    name: str
    text: str
    ways: Ways = field(default_factory=Ways)


def lay_aside(yard: Yard, draft: ListDraft) -> Path:
    """Keep a list with its answers, in place of one laid aside under the same name.

    Raises:
        BadInput: no name, or the folder beside the yard can not be written.
    """
    if not draft.name.strip():
        raise BadInput("a list laid aside needs a name")
    ways = draft.ways
    body = {
        "name": draft.name, "text": draft.text, "unit": ways.unit, "answers": dict(ways.answers),
        "first": ways.first, "finished": ways.finished, "band_thickness": ways.band_thickness,
    }  # fmt: skip
    path = _path(yard, draft.name)
    try:
        path.parent.mkdir(exist_ok=True)
    except OSError as error:
        raise BadInput(f"{path.parent}: {error.strerror or error}: the answers can not be kept") from None
    write_whole(path, json.dumps(body, ensure_ascii=False, indent=1).encode("utf-8"))
    return path


def take_up(yard: Yard, name: str) -> ListDraft:
    """Return the list laid aside under a name, in any case.

    Raises:
        BadInput: there is none, with the names of those there are; or its file is not as it was written.
    """
    path = _path(yard, name)
    if not path.is_file():
        known = ", ".join(sorted(laid_aside(yard))) or "none"
        raise BadInput(f"no list is laid aside as '{name[:40]}': there are {known}")
    return _read(path)


def laid_aside(yard: Yard) -> Iterator[str]:
    """Yield the names of the lists laid aside."""
    for path in sorted(_folder(yard).glob("*.json")):
        try:
            yield _read(path).name
        except BadInput:
            continue


def drop(yard: Yard, name: str) -> None:
    """Forget a list laid aside, if there is one of this name."""
    _path(yard, name).unlink(missing_ok=True)


def _folder(yard: Yard) -> Path:
    return yard.path.with_name(yard.path.name + ".lists")


def _path(yard: Yard, name: str) -> Path:
    key = " ".join(name.casefold().split())
    return _folder(yard) / f"{hashlib.sha256(key.encode('utf-8', 'replace')).hexdigest()[:24]}.json"


def _read(path: Path) -> ListDraft:
    try:
        body: Mapping[str, Any] = json.loads(path.read_text(encoding="utf-8"))
        ways = Ways(
            unit=Unit(body["unit"]) if body["unit"] else None,
            answers={str(id): str(text) for id, text in body["answers"].items()},
            first=body["first"],
            finished=body["finished"],
            band_thickness=int(body["band_thickness"]),
        )
        return ListDraft(name=str(body["name"]), text=str(body["text"]), ways=ways)
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        raise BadInput(f"{path}: not a list laid aside by this program: paste the list again") from None
