"""What to mind at a cut, in words. When to say it, and after whom, stands in `stockyard.saws`.

The same cut always gets the same words. They warn and name a way, they never permit.
"""

from __future__ import annotations

from stockyard.printing.papers import CutCard, CutStep
from stockyard.printing.words import spelled
from stockyard.saws import Caution, Machine

_GRAVE = {
    Caution.NARROW_STRIP: "narrow strip: push stick between fence and blade",
    Caution.TOO_NARROW: "too narrow for the rip fence: keep it on a wider strip and part it off last, on the "
    "open side of the blade or by hand",
    Caution.SHORT_RIP: "too short to rip: rip it as part of a longer strip and cut it to length last",
    Caution.SHORT_CROSSCUT: "too short to hold: clamp it in the sled; cut it off a longer strip, last",
    Caution.SMALL: "too small for a machine: cut it as part of a larger piece, last, or by hand",
    Caution.SHORT_ALONG_FENCE: "wider at the fence than it is long: {guide}, not the rip fence",
    Caution.OUT_OF_REACH: "no saw of this shop reaches: break the piece down by hand first",
}
_TRIM_BY_HAND = "no saw of this shop reaches: trim it by hand"
_TO_A_MARK = "to length: on a mitre gauge to a mark, never on the rip fence"
_LIFTED = "large: at least two people to lift and turn it"
_LIGHT = {
    Caution.TWO_PEOPLE: "large: at least two people, or break it down with a {guide}",
    Caution.SUPPORT: "support behind the saw",
    Caution.OVERHANG: "long overhang: support the far end",
    Caution.PUSH_BLOCK: "push block",
    Caution.STOP_ONLY: "on a sled or mitre gauge with a stop, never on the rip fence",
}


def grave_words(step: CutStep, card: CutCard) -> tuple[str, ...]:
    """Return what stands out at a cut: what can hurt, and the way to do it instead."""
    return _words(step, card, _GRAVE)


def light_words(step: CutStep, card: CutCard) -> tuple[str, ...]:
    """Return what to mind at ordinary cuts."""
    return _words(step, card, _LIGHT)


def _words(step: CutStep, card: CutCard, words: dict[Caution, str]) -> tuple[str, ...]:
    own = words
    if step.trim and Caution.OUT_OF_REACH in words:
        own = {**words, Caution.OUT_OF_REACH: _TRIM_BY_HAND}
    if step.machine is Machine.GUIDE and Caution.TWO_PEOPLE in words:
        own = {**words, Caution.TWO_PEOPLE: _LIFTED}  # it lies on the guided saw already
    if step.machine is Machine.MARK and Caution.STOP_ONLY in words:
        own = {**own, Caution.STOP_ONLY: _TO_A_MARK}
    found = tuple(own[c].format(guide=card.guide) for c in step.cautions if c in own)
    return tuple(spelled(text, card.unit) for text in found)
