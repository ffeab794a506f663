"""The few words for what a thing is that every room uses: kinds of pieces, grain, form."""

from __future__ import annotations

from enum import StrEnum


class Kind(StrEnum):
    """A piece as bought, or what was left of one."""

    FULL = "full"
    OFFCUT = "offcut"


class Grain(StrEnum):
    """Where a part's length must lie on a piece that has grain."""

    ALONG = "along"
    ACROSS = "across"
    ANY = "any"


class Form(StrEnum):
    """What a material comes as."""

    SHEET = "sheet"
    BOARD = "board"


class Method(StrEnum):
    """How parts are cut out: edge to edge on a saw, or freely with a router bit."""

    SAW = "saw"
    ROUTER = "router"
