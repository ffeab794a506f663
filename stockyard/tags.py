"""Tags: the short code on the edge of a piece, with a check character.

Alphabet: Crockford's base 32 (no I, L, O, U). Check character: the hybrid system of ISO 7064
(MOD 37,36 written for M = 36), used here with M = 32 so that the check is a character of the same
alphabet. Over two-character codes it misses no single substitution and 4 of 1984 adjacent swaps.
"""

from __future__ import annotations

from stockyard.errors import BadInput

ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_VALUE = {c: i for i, c in enumerate(ALPHABET)} | {"O": 0, "I": 1, "L": 1}
_BASE = len(ALPHABET)


def check_character(code: str, alphabet: str = ALPHABET) -> str:
    """Return the check character of `code` by the ISO 7064 hybrid scheme over `alphabet`.

    With the 36 characters 0-9A-Z this is MOD 37,36 exactly as published.
    """
    m = len(alphabet)
    p = m
    for c in code:
        s = (p + alphabet.index(c)) % m or m
        p = (2 * s) % (m + 1)
    return alphabet[(1 - p) % m]


def tag_number(n: int) -> str:
    """Return the n-th tag (n >= 0): four characters and a check; five and a check after 32**4.

    Neighbouring numbers give tags that look unlike each other, so two sheets shelved together
    are not told apart by their last character alone.
    """
    if n < 0:
        raise ValueError("tags are numbered from 0")
    size, first = 4, 0
    while n - first >= _BASE**size:
        first += _BASE**size
        size += 1
    space = _BASE**size
    # An odd multiplier is a bijection on a power of two.
    scattered = ((n - first) * 633_713 + 271_829) % space
    code = ""
    for _ in range(size):
        scattered, digit = divmod(scattered, _BASE)
        code = ALPHABET[digit] + code
    return code + check_character(code)


def read_tag(text: str) -> str:
    """Return the tag as stored, from what a person typed or a scanner sent.

    Case, spaces and hyphens do not matter; I and L are read as 1, O as 0.

    Raises:
        BadInput: a character outside the alphabet, a wrong length, or a check that does not fit.
    """
    compact = "".join(c for c in text.strip().upper() if c not in " -\t")
    if not 5 <= len(compact) <= 8:
        raise BadInput(f"'{text.strip()[:40]}' is not a tag: a tag has 5 characters, such as {tag_number(0)}")
    wrong = next((c for c in compact if c not in _VALUE), None)
    if wrong is not None:
        raise BadInput(f"'{text.strip()[:40]}' is not a tag: it cannot hold the character '{wrong}'")
    tag = "".join(ALPHABET[_VALUE[c]] for c in compact)
    if check_character(tag[:-1]) != tag[-1]:
        raise BadInput(f"tag {tag} has a character wrong (its check does not fit): read the label again")
    return tag
