"""One rule for text that enters the record, and one for text that leaves it for a screen or a paper."""

from __future__ import annotations

import re

from stockyard.errors import BadInput

# Control characters but tab and line feed, marks that turn the direction of writing, halves of characters.
_UNPRINTABLE = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")
_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]")


def entering(text: str) -> str:
    """Return a text as the record keeps it: line ends are line feeds, all else is as it was given.

    Raises:
        BadInput: it holds a character that does not print, and that a terminal might obey.
    """
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if found := _UNPRINTABLE.search(text):
        near = leaving(text[max(0, found.start() - 12) : found.end() + 12])
        raise BadInput(f"'{near}' holds a character that does not print (U+{ord(found[0]):04X}): take it out")
    return text


def leaving(text: str) -> str:
    """Return a text as one line that a terminal prints and does not obey; XML takes it too.

    Line ends and tabs become spaces, whatever else does not print becomes `\\uXXXX`.
    """
    if text.isprintable():
        return text
    return _CONTROL.sub(_written, re.sub(r"[\t\n\r\v\f\u2028\u2029]+", " ", text))


def obeyed_by_none(text: str, allowed: re.Pattern[str]) -> str:
    """Return output of many lines in which only line ends, tabs and what is `allowed` is not written out."""
    if not _UNPRINTABLE.search(text):
        return text
    parts, start = [], 0
    for own in allowed.finditer(text):
        parts += [_UNPRINTABLE.sub(_written, text[start : own.start()]), own[0]]
        start = own.end()
    return "".join([*parts, _UNPRINTABLE.sub(_written, text[start:])])


def _written(found: re.Match[str]) -> str:
    return f"\\u{ord(found[0]):04x}"
