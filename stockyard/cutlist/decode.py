"""Bytes to text, and text to lines: encodings told apart, rubbish refused with its place."""

from __future__ import annotations

import codecs
import re

from stockyard.errors import BadInput

LONGEST_TEXT = 2_000_000
_CONTROL = re.compile("[\x00-\x08\x0e-\x1b\x7f\ud800-\udfff\ufffe\uffff]")
_BREAK = re.compile("\r\n|[\n\r\x0b\x0c\x1c-\x1e\x85\u2028\u2029]")
_BOMS = (
    (codecs.BOM_UTF8, "utf-8-sig"), (codecs.BOM_UTF32_LE, "utf-32"), (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16"),
)  # fmt: skip


def decode(data: bytes) -> str:
    """Return the text in `data`: UTF-8, UTF-16 or UTF-32 by their marks, UTF-16 by its zeros, else cp1252.

    Raises:
        BadInput: more than 2 MB, or not text.
    """
    if len(data) > LONGEST_TEXT:
        raise BadInput(f"the list is longer than {LONGEST_TEXT // 1_000_000} MB: is it the right file?")
    try:
        return data.decode(_encoding(data))
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        at = error.start - data.rfind(b"\n", 0, error.start)
        raise BadInput(f"line {line}, column {at}: not text: save the list as UTF-8 text") from None


def _encoding(data: bytes) -> str:
    for mark, name in _BOMS:
        if data.startswith(mark):
            return name
    head = data[:4096]
    if len(head) >= 4 and head[1::2].count(0) > len(head) // 3 and not head[::2].count(0):
        return "utf-16-le"
    if len(head) >= 4 and head[::2].count(0) > len(head) // 3 and not head[1::2].count(0):
        return "utf-16-be"
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def checked(text: str) -> list[str]:
    """Return the lines of a list.

    Raises:
        BadInput: more than 2 MB, or a character that is in no text.
    """
    if len(text) > LONGEST_TEXT:
        raise BadInput(f"the list is longer than {LONGEST_TEXT // 1_000_000} MB: is it the right file?")
    text = text.removeprefix("\ufeff")
    if m := _CONTROL.search(text):
        before = _BREAK.split(text[: m.start()])
        where = f"line {len(before)}, column {len(before[-1]) + 1}"
        raise BadInput(
            f"{where}: a character that is not text (code {ord(m.group())}): is it the right file?"
        )
    lines = _BREAK.split(text)
    return lines[:-1] if lines[-1] == "" else lines
