"""The drawing library's own remarks, kept off the screen."""

from __future__ import annotations

import logging


def keep_quiet() -> None:
    """Let ezdxf log no remarks: what is wrong with a drawing is said in one line of our own."""
    logging.getLogger("ezdxf").setLevel(logging.CRITICAL)
