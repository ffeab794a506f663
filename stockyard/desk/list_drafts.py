"""Lists laid aside with the answers given so far, until the job is stored."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

from stockyard.desk.job_list import Ways
from stockyard.measure import Unit
from stockyard.yard import laid_aside as kept
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
    ways = draft.ways
    body = {
        "text": draft.text, "unit": ways.unit, "answers": dict(ways.answers), "first": ways.first,
        "finished": ways.finished, "band_thickness": ways.band_thickness,
    }  # fmt: skip
    return kept.lay_aside(yard, draft.name, body)


def take_up(yard: Yard, name: str) -> ListDraft:
    """Return the list laid aside under a name, in any case.

    Raises:
        BadInput: there is none, with the names of those there are; or its file is not as it was written.
    """
    body = kept.take_up(yard, name)
    try:
        ways = Ways(
            unit=Unit(body["unit"]) if body["unit"] else None,
            answers={str(id): str(text) for id, text in body["answers"].items()},
            first=body["first"],
            finished=body["finished"],
            band_thickness=int(body["band_thickness"]),
        )
        return ListDraft(name=str(body["name"]), text=str(body["text"]), ways=ways)
    except (ValueError, KeyError, TypeError, AttributeError):
        raise kept.not_ours(kept.path_of(yard, name)) from None


def laid_aside(yard: Yard) -> Iterator[str]:
    """Yield the names of the lists laid aside."""
    return kept.names(yard)


def drop(yard: Yard, name: str) -> None:
    """Forget a list laid aside, if there is one of this name."""
    kept.drop(yard, name)
