"""One object of a problem file: its fields are taken out by name, each error names the path and the value."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from enum import StrEnum
from fractions import Fraction
from typing import Any, NoReturn, TypeVar

from stockyard.errors import BadInput
from stockyard.measure import LONGEST, TICKS_PER, Unit, read_number, read_ticks

LARGEST_FILE = 20_000_000
MOST = 1_000_000_000
_PLACES = 30

_C = TypeVar("_C", bound=StrEnum)


def parse(data: bytes | str) -> Any:
    """Return the content of a file, its numbers exact.

    Raises:
        BadInput: too large, no text, no JSON, or a key that stands twice in one object.
    """
    if len(data) > LARGEST_FILE:
        raise BadInput(f"the file is larger than {LARGEST_FILE // 1_000_000} MB: is it a problem file?")
    try:
        text = data.decode("utf-8-sig") if isinstance(data, bytes) else data
    except UnicodeDecodeError as e:
        raise BadInput(f"the file is not text: byte {e.start} is not UTF-8") from None
    try:
        return json.loads(
            text,
            parse_float=_decimal,
            parse_int=_decimal,
            parse_constant=str,
            object_pairs_hook=_once,
        )
    except json.JSONDecodeError as e:
        raise BadInput(f"the file is not JSON: line {e.lineno}, column {e.colno}: {e.msg}") from None
    except RecursionError:
        raise BadInput("the file is not a problem: its brackets are nested too deeply") from None


def _decimal(text: str) -> Decimal | str:
    """Return a number exactly, or as text when it is beyond all use: its field then refuses it."""
    if len(text) > 4 * _PLACES:
        return text
    try:
        value = Decimal(text)
    except InvalidOperation:
        return text
    return value if not value or -_PLACES < value.adjusted() < _PLACES else text


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    row = dict(pairs)
    if len(row) < len(pairs):
        keys = [k for k, _ in pairs]
        twice = next(k for k in keys if keys.count(k) > 1)
        raise BadInput(f"the key '{shown(twice)}' stands twice in one object")
    return row


def shown(value: Any) -> str:
    """Return a value as a person wrote it, short and on one line."""
    text = value if isinstance(value, str) else _words(value)
    text = "".join(c if c.isprintable() else "?" for c in text[:60])
    return text[:40] + "..." if len(text) > 40 else text


def _words(value: Any) -> str:
    if isinstance(value, Mapping):
        return "{...}" if value else "{}"
    if isinstance(value, list):
        return "[...]" if value else "[]"
    return {None: "null", True: "true", False: "false"}.get(value, "") if _is_word(value) else f"{value}"


def _is_word(value: Any) -> bool:
    return value is None or isinstance(value, bool)


@dataclass
class Row:
    """One JSON object at a path; lengths without a unit are in `unit`. Every method may raise `BadInput`."""

    path: str
    data: Any
    notes: dict[str, None]
    unit: Unit = Unit.MM
    _taken: set[str] = field(default_factory=set)

    def __post_init__(self) -> None:
        if not isinstance(self.data, dict):
            raise BadInput(f"{self.path or 'the file'}: '{shown(self.data)}' must be an object in braces")

    def fail(self, key: str, words: str) -> NoReturn:
        """Refuse a field: its path, its value, and these words."""
        value = self.data.get(key)
        raise BadInput(f"{self._at(key)}: '{shown(value)}' {words}")

    def _at(self, key: str) -> str:
        return f"{self.path}.{key}" if self.path else key

    def get(self, key: str) -> Any:
        """Take a field as it is, None when it is not there."""
        self._taken.add(key)
        return self.data.get(key)

    def need(self, key: str) -> Any:
        """Take a field that must be there."""
        if key not in self.data:
            raise BadInput(f"{self._at(key)}: missing")
        return self.get(key)

    def end(self) -> None:
        """Note the keys nobody asked for."""
        for key in self.data:
            if key not in self._taken:
                where = self.path.split("[")[0]
                self.notes[f"{where + ': ' if where else ''}'{shown(key)}' is not known and ignored"] = None

    def row(self, key: str) -> Row | None:
        """Take an object, None when it is not there."""
        value = self.get(key)
        return None if value is None else Row(self._at(key), value, self.notes, self.unit)

    def rows(self, key: str, most: int) -> Iterator[Row]:
        """Take the objects of a list that must be there."""
        value = self.need(key)
        if not isinstance(value, list):
            self.fail(key, "must be a list")
        if len(value) > most:
            raise BadInput(f"{self._at(key)}: {len(value)} rows, at most {most}")
        for i, item in enumerate(value):
            yield Row(f"{self._at(key)}[{i}]", item, self.notes, self.unit)

    def text(self, key: str) -> str:
        """Take a word or a whole number as a word; it must be there."""
        value = self.need(key)
        if isinstance(value, Decimal) and value == value.to_integral_value():
            value = f"{value:f}"
        if not isinstance(value, str) or not value.strip():
            self.fail(key, "must be a word")
        if len(value) > 200 or not value.isprintable():
            self.fail(key, "must be one line of at most 200 characters")
        return value.strip()

    def choice(self, key: str, kind: type[_C], default: _C | None) -> _C:
        """Take one of the words of a kind; `default` None means the field must be there."""
        value = self.get(key)
        if value is None and default is not None:
            return default
        if value is None:
            self.need(key)
        if not isinstance(value, str) or value not in [str(k) for k in kind]:
            self.fail(key, "must be " + " or ".join(kind))
        return kind(value)

    def flag(self, key: str) -> bool:
        """Take true or false, false when it is not there."""
        value = self.get(key)
        if value is not None and not isinstance(value, bool):
            self.fail(key, "must be true or false")
        return bool(value)

    def whole(self, key: str, default: int, least: int, most: int = MOST) -> int:
        """Take a whole number within bounds."""
        value = self.get(key)
        if value is None:
            return default
        if isinstance(value, str) and value.strip().isdecimal() and value.isascii() and len(value) < _PLACES:
            value = Decimal(value.strip())
        if not isinstance(value, Decimal) or value != value.to_integral_value():
            self.fail(key, "must be a whole number")
        self._within(key, Fraction(value), least, most)
        return int(value)

    def length(self, key: str, default: int | None, *, least: int = 1) -> int:
        """Return a length in ticks; `default` None means the field must be there."""
        value = self.need(key) if default is None else self.get(key)
        if value is None and default is not None:
            return default
        if isinstance(value, Decimal):
            exact = Fraction(value) * TICKS_PER[self.unit]
        elif isinstance(value, str):
            exact = self._read(key, value)
        else:
            self.fail(key, "must be a length")
        ticks = round(exact)
        if exact < 0 or ticks < least:
            self.fail(key, "must be 0 or more" if least == 0 else "must be more than 0")
        if ticks > LONGEST:
            self.fail(key, "is longer than 100 m: is the unit right?")
        return ticks

    def _read(self, key: str, value: str) -> Fraction:
        text = value.strip()
        try:
            return -read_ticks(text[1:], self.unit) if text.startswith("-") else read_ticks(text, self.unit)
        except BadInput as e:
            if text.startswith("-"):
                self.fail(key, "is not a length")
            raise BadInput(f"{self._at(key)}: {_one_line(e)}") from None

    def amount(self, key: str, *, most: int = MOST) -> Fraction | None:
        """Return a plain number, 0 or more, exactly; None when it is not given."""
        value = self.get(key)
        if value is None:
            return None
        if isinstance(value, str):
            try:
                return read_number(value)
            except BadInput as e:
                raise BadInput(f"{self._at(key)}: {_one_line(e)}") from None
        if not isinstance(value, Decimal):
            self.fail(key, "must be a number")
        self._within(key, Fraction(value), 0, most)
        return Fraction(value)

    def _within(self, key: str, value: Fraction, least: int, most: int) -> None:
        if value < least:
            self.fail(key, f"must be {least} or more" if least != 1 else "must be more than 0")
        if value > most:
            self.fail(key, f"must be at most {most}")


def _one_line(error: BadInput) -> str:
    """Return what is wrong with a value in one line, though the value has several."""
    return " ".join(str(error).split())
