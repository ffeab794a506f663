"""Names that begin with what was typed, for a shell that completes words."""

from __future__ import annotations

from stockyard.yard.glance import begun_with

__all__ = ["begun_with"]
