"""Problems as JSON to the tick: every field that is not its default, whatever unit the shop works in.

The contract's files are for people and other programs, with figures in a unit; this is for keeping a
problem as it was asked, so that its plan can be verified again.
"""

from __future__ import annotations

import json
from dataclasses import MISSING, fields, is_dataclass
from enum import StrEnum
from functools import cache
from types import NoneType, UnionType
from typing import Any, NewType, TypeVar, Union, get_args, get_origin, get_type_hints

from stockyard.planning.problem import Problem

T = TypeVar("T")


def problem_data(problem: Problem) -> dict[str, Any]:
    """Return a problem as plain data, which `read_problem_data` reads back as an equal problem."""
    data: dict[str, Any] = _plain(problem)
    return data


def read_problem_data(data: object) -> Problem:
    """Return the problem that `problem_data` gave.

    Raises:
        ValueError: it is no problem; the text names what cannot be read.
    """
    found: Problem = _read(Problem, data)
    return found


def _plain(value: Any) -> Any:
    if is_dataclass(value) and not isinstance(value, type):
        own = ((f.name, getattr(value, f.name), _default(type(value), f.name)) for f in fields(value))
        return {name: _plain(v) for name, v, usual in own if v != usual}
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, tuple):
        return [_plain(v) for v in value]
    return value


@cache
def _default(kind: type, name: str) -> Any:
    field = next(f for f in fields(kind) if f.name == name)
    return field.default_factory() if field.default_factory is not MISSING else field.default


@cache
def _hints(kind: Any) -> dict[str, Any]:
    return get_type_hints(kind)


def _read(kind: Any, data: Any) -> Any:
    """Return `data` as a value of the type `kind`."""
    if isinstance(kind, NewType):
        return _read(kind.__supertype__, data)
    if get_origin(kind) in (Union, UnionType):
        (bare,) = (k for k in get_args(kind) if k is not NoneType)
        return None if data is None else _read(bare, data)
    if get_origin(kind) is tuple:
        return tuple(_read(get_args(kind)[0], one) for one in _a(list, data))
    if is_dataclass(kind):
        return _dataclass(kind, _a(dict, data))
    if isinstance(kind, type) and issubclass(kind, tuple):
        return kind(*(_read(k, v) for k, v in zip(_hints(kind).values(), _a(list, data), strict=True)))
    if isinstance(kind, type) and issubclass(kind, StrEnum):
        return kind(_a(str, data))
    return _a(kind, data)


def _dataclass(kind: Any, data: dict[str, Any]) -> Any:
    hints = _hints(kind)
    strange = data.keys() - hints.keys()
    if strange:
        raise ValueError(f"{kind.__name__} has no {min(strange)}")
    try:
        return kind(**{name: _read(hints[name], value) for name, value in data.items()})
    except TypeError as error:
        raise ValueError(f"{kind.__name__} lacks a field: {error}") from None


def _a(kind: type[T], data: object) -> T:
    # `True` is an int to Python, but no length to us.
    if type(data) is not kind:
        raise ValueError(f"{json.dumps(data)[:40]} is not {kind.__name__}")
    return data
