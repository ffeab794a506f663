"""Scannable codes for tags: QR (ISO/IEC 18004) and Code 128 (ISO/IEC 15417).

A module is always a whole number of printer dots and at least a quarter of a millimetre, which
hand scanners read from a thermal print. Where neither code fits, there is none. Sizes are millimetres.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from math import ceil, floor

from stockyard.errors import BadInput

QR_SIDE = 21
QR_QUIET = 4
LINEAR_QUIET = 10
LONGEST_PAYLOAD = 10
"""Version 1 at level H holds this many characters of 0-9 A-Z: every tag, with 30 % of it lost."""

LEAST_MODULE = 0.25
BEST_MODULE = 0.5
"""Half a millimetre is what telephones ask for (advice of several makers, not of the standard)."""

LEAST_BAR_HEIGHT = 4.8
"""Code 128 read by hand: about 5 mm (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Code:
    """One code, drawn as dark rectangles `bars` (x, y, width, height in modules, from the lower left).

    `rows` is 1 for Code 128, whose height is free. `quiet` modules of white belong on the left and right;
    above and below too for QR.
    """

    text: str
    bars: tuple[tuple[int, int, int, int], ...]
    columns: int
    rows: int
    quiet: int


def dot(dpi: int) -> float:
    """Return the width of one printer dot."""
    return 25.4 / dpi


def modules(dpi: int, most: float) -> Iterator[float]:
    """Yield module widths that are whole dots, from the widest up to `most` down to the least."""
    step = dot(dpi)
    # A hundredth of a dot is no difference: two dots of 0.1251 mm are a quarter, four are a half.
    least = max(ceil(LEAST_MODULE / step - 0.01), 1)
    for dots in range(floor(most / step + 0.01), least - 1, -1):
        yield dots * step


def _payload(text: str) -> str:
    if not re.fullmatch(rf"[0-9A-Z]{{1,{LONGEST_PAYLOAD}}}", text):
        raise BadInput(f"'{text[:40]}' cannot be a code: it must be 1 to {LONGEST_PAYLOAD} of 0-9 and A-Z")
    return text


@lru_cache(maxsize=4096)
def linear(text: str) -> Code:
    """Return `text` as Code 128.

    Raises:
        BadInput: `text` is not 1 to 10 characters of 0-9 and A-Z.
    """
    from reportlab.graphics.barcode.code128 import Code128

    symbol = Code128(_payload(text), quiet=0)
    symbol.validate()
    symbol.encode()
    bars, x = [], 0
    for letter in symbol.decompose():
        wide = ord(letter.lower()) - ord("a") + 1
        if letter.isupper():
            bars.append((x, 0, wide, 1))
        x += wide
    return Code(text, tuple(bars), x, 1, LINEAR_QUIET)


@lru_cache(maxsize=4096)
def square(text: str) -> Code:
    """Return `text` as a QR code, version 1, error correction level H.

    Raises:
        BadInput: `text` is not 1 to 10 characters of 0-9 and A-Z.
    """
    plain = _matrix(_payload(text), 0)
    pattern = min((plain ^ change for change in _mask_changes()), key=penalty)
    bars = [
        (x, QR_SIDE - 1 - row, wide, 1)
        for row in range(QR_SIDE)
        for x, wide in _runs(pattern >> _bit(row, 0) & (1 << QR_SIDE) - 1)
    ]
    return Code(text, tuple(bars), QR_SIDE, QR_SIDE, QR_QUIET)


# A symbol is one integer: bit `_bit(row, column)` is set where it is dark. The white guard around it is
# as wide as the longest pattern that is searched for, so that shifts never wrap into dark modules.
_GUARD = 11
_STRIDE = QR_SIDE + _GUARD


def _bit(row: int, column: int) -> int:
    return (row + _GUARD) * _STRIDE + column + _GUARD


def _area(rows: int, columns: int) -> int:
    """Return the integer with the first `rows` and `columns` set."""
    return sum(((1 << columns) - 1) << _bit(row, 0) for row in range(rows))


def _matrix(text: str, mask: int) -> int:
    from reportlab.graphics.barcode import qrencoder

    symbol = qrencoder.QRCode(1, qrencoder.QRErrorCorrectLevel.H)
    symbol.addData(text)
    symbol.makeImpl(False, mask)
    return sum(
        1 << _bit(row, column)
        for row, line in enumerate(symbol.modules)
        for column, dark in enumerate(line)
        if dark
    )


@cache
def _mask_changes() -> tuple[int, ...]:
    """Return, for each of the eight masks, the modules that differ from mask 0, whatever the payload."""
    first = _matrix("0", 0)
    return tuple(first ^ _matrix("0", mask) for mask in range(8))


@cache
def _areas() -> tuple[tuple[int, int, int], ...]:
    """Return per direction: the shift, where a neighbour exists, where a 7-module pattern can start."""
    side = QR_SIDE
    return (
        (1, _area(side, side - 1), _area(side, side - 6)),
        (_STRIDE, _area(side - 1, side), _area(side - 6, side)),
    )


def penalty(pattern: int) -> int:
    """Return the penalty of a masked symbol, ISO/IEC 18004:2015 section 7.8.3.1 (all four features)."""
    score = 0
    alike = []
    for shift, pairs, starts in _areas():
        same = ~(pattern ^ pattern >> shift) & pairs
        alike.append(same)
        runs = same & same >> shift & same >> 2 * shift & same >> 3 * shift
        # A run of n >= 5 is worth n - 2: one for each window of five, two more for its start.
        score += runs.bit_count() + 2 * (runs & ~(runs << shift)).bit_count()
        score += 40 * _finder_lookalikes(pattern, shift, starts)
    across, down = alike
    score += 3 * (across & across >> _STRIDE & down).bit_count()
    percent = 100 * pattern.bit_count() / QR_SIDE**2
    return score + 10 * int(abs(percent - 50) / 5)


def _finder_lookalikes(pattern: int, shift: int, starts: int) -> int:
    """Count dark-light-dark×3-light-dark with four light modules before or after it."""
    light = ~pattern
    found = starts
    for place, dark in enumerate((1, 0, 1, 1, 1, 0, 1)):
        found &= (pattern if dark else light) >> place * shift
    after = before = found
    for place in range(1, 5):
        after &= light >> (6 + place) * shift
        before &= light << place * shift
    return (after | before).bit_count()


def _runs(line: int) -> Iterable[tuple[int, int]]:
    """Yield (start, length) of every run of set bits, lowest first."""
    x = 0
    while line:
        gap = (line & -line).bit_length() - 1
        line >>= gap
        x += gap
        long = (~line & line + 1).bit_length() - 1
        yield x, long
        line >>= long
        x += long
