"""Tags: check characters against published values, and slips of the pen."""

from __future__ import annotations

import itertools
import string

import pytest

from stockyard.errors import BadInput
from stockyard.tags import ALPHABET, check_character, read_tag, tag_number

ISO_ALPHABET = string.digits + string.ascii_uppercase


@pytest.mark.parametrize(
    ("code", "check"), [("A12425GABC1234002", "M"), ("DADPIDA3897722461", "J"), ("123AB", "X"), ("P7K3", "D")]
)
def test_iso_7064_worked_values(code: str, check: str) -> None:
    """ISO 7064 MOD 37,36: the GRid example of ISO 27730, the others as python-stdnum 2.2 gives them."""
    assert check_character(code, ISO_ALPHABET) == check


def test_the_alphabet_is_crockfords() -> None:
    """Crockford base 32: no I, L, O or U; I and L read as 1, O as 0."""
    assert ALPHABET == "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
    tag = next(t for t in map(tag_number, range(10_000)) if "1" in t and "0" in t)
    assert read_tag(tag.lower().replace("1", "l").replace("0", "o")) == tag
    assert read_tag(f" {tag[:2]}-{tag[2:]} ") == tag


def test_the_hybrid_on_32_characters() -> None:
    assert check_character("P7K3") == "5"
    assert check_character("7K3Q") == "Z"


def test_every_single_slip_is_caught_and_nearly_every_swap() -> None:
    swaps = 0
    for a, b in itertools.product(ALPHABET, repeat=2):
        whole = a + b + check_character(a + b)
        for i, c in itertools.product(range(3), ALPHABET):
            if c != whole[i]:
                slip = whole[:i] + c + whole[i + 1 :]
                assert check_character(slip[:2]) != slip[2]
        if a != b:
            swaps += check_character(b + a) == whole[2]
        if b != whole[2]:
            swaps += check_character(a + whole[2]) == b
    assert swaps == 4


def test_tags_never_repeat_and_neighbours_differ() -> None:
    tags = [tag_number(n) for n in range(50_000)]
    assert len(set(tags)) == len(tags)
    pairs = itertools.pairwise(tag[:4] for tag in tags)
    assert all(sum(x != y for x, y in zip(a, b, strict=True)) >= 2 for a, b in pairs)
    assert len(tag_number(32**4)) == 6


@pytest.mark.parametrize("text", ["", "AAAA", "P7K35X", "!!!!!", "P7K3U", "ÄÖÜ12", "P7K36"])
def test_a_wrong_tag_is_refused_in_one_line(text: str) -> None:
    with pytest.raises(BadInput) as caught:
        read_tag(text)
    assert "\n" not in str(caught.value)
