"""One request as a room sees it, and what a room may answer."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TypeVar

from stockyard.desk.door import Yard
from stockyard.errors import BadInput
from stockyard.page.house import House
from stockyard.page.keys import Station

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """A request: the yard open for it, the station, and what came along. Texts are as typed."""

    house: House
    yard: Yard
    station: Station
    state: tuple[object, ...] = ()
    path: Mapping[str, str] = field(default_factory=dict)
    query: Mapping[str, str] = field(default_factory=dict)
    words: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    form: Mapping[str, str] = field(default_factory=dict)
    lists: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    files: Mapping[str, tuple[str, bytes]] = field(default_factory=dict)

    def kept(self, asked: str, read: Callable[[], T]) -> T:
        """Return what `read` finds, once for each state of the yard: for reads that take long.

        `asked` names the question with all that it is about. Only a page that reads may ask so.
        """
        assert self.state, "a form changes the state while it is looked at"
        return self.house.kept.get((asked, *self.state), read)

    def said(self, name: str) -> str:
        """Return a field of the form without the spaces around it, empty when it was left out."""
        return self.form.get(name, "").strip()

    def must_say(self, name: str, what: str) -> str:
        """Return a field of the form.

        Raises:
            BadInput: it is empty; `what` names it for the person.
        """
        text = self.said(name)
        if not text:
            raise BadInput(f"{what} is missing")
        return text

    def maybe(self, name: str) -> str | None:
        """Return a field of the form, None when it is empty."""
        return self.said(name) or None

    def several(self, name: str) -> tuple[str, ...]:
        """Return a field of the form that holds several things with semicolons between them."""
        return tuple(bit for text in self.said(name).split(";") if (bit := text.strip()))

    def asked(self, name: str) -> str:
        """Return a word of the address, empty when it is not there."""
        return self.query.get(name, "").strip()

    def every(self, name: str) -> tuple[str, ...]:
        """Return a word of the address as often as it is there."""
        return self.words.get(name, ())

    def number(self, name: str, most: int = 1_000_000) -> int:
        """Return a whole number of the form.

        Raises:
            BadInput: it is none, or more than `most`.
        """
        text = self.said(name)
        if not (text.isascii() and text.isdecimal()) or len(text) > 9 or int(text) > most:
            raise BadInput(f"'{text[:20]}' is not a whole number up to {most}")
        return int(text)


@dataclass(frozen=True, slots=True)
class Page:
    """A page to be made: the name of its template and what it says."""

    template: str
    values: Mapping[str, object] = field(default_factory=dict)
    status: int = 200


@dataclass(frozen=True, slots=True)
class Go:
    """Go to a page of ours. `told`: show there what this station has just done."""

    to: str
    told: bool = True
    cookie: Station | None = None


@dataclass(frozen=True, slots=True)
class File:
    """Something to print or keep. `name` is shown where it is saved."""

    data: bytes
    kind: str
    name: str


Answer = Page | Go | File
