"""What a page says of an error: the fault in the desk's words, and what to touch next."""

from __future__ import annotations

from collections.abc import Mapping
from urllib.parse import quote

from stockyard.errors import StockyardError

# What to do about a fault, by its code: the words of a link, and where it leads. Fields fill the braces.
_NEXT: Mapping[str, tuple[str, str]] = {
    "no plan": ("Plan it", "/jobs/{job}/plan"),
    "plan broken": ("Plan it again", "/jobs/{job}/plan"),
    "plan holds pieces": ("Give up its plan first", "/jobs/{job}"),
    "no place": ("See the places", "/racks"),
    "no places": ("Add a place", "/racks"),
    "no such material": ("See the materials", "/books/materials"),
    "no price": ("Add a price", "/books/prices"),
    "no density": ("Set its density", "/books/materials"),
    "nothing to cut": ("Pull the pieces first", "/jobs/{job}/pull"),
    "no such job": ("See the jobs", "/"),
}


def told(error: StockyardError, back: str) -> dict[str, object]:
    """Return what the page about an error says; `back` is where the person was."""
    text = str(error)
    return {
        "says": text[:1].upper() + text[1:].rstrip(".") + ".",
        "next": _next(error),
        "back": back,
    }


def _next(error: StockyardError) -> tuple[str, str] | None:
    found = _NEXT.get(error.code)
    if found is None:
        return None
    fields = {k: quote(str(v), safe="") for k, v in error.fields.items()}
    try:
        return found[0], found[1].format_map(fields)
    except KeyError:
        return None
