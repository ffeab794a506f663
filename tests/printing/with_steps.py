"""Cards with something of their first step changed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from stockyard.printing.papers import CutCard
from stockyard.saws import Caution


def with_first(card: CutCard, **changes: Any) -> CutCard:
    """Return the card with its first step changed."""
    return replace(card, steps=(replace(card.steps[0], **changes), *card.steps[1:]))


def unnumbered(card: CutCard) -> CutCard:
    """Return the card as it is before its settings have numbers."""
    return replace(card, steps=tuple(replace(step, setting=0, stays=False) for step in card.steps))


def with_cautions(card: CutCard, *cautions: Caution) -> CutCard:
    """Return the card with these cautions at its first step."""
    return with_first(card, cautions=cautions)
