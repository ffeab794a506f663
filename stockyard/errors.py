"""What can go wrong, as values: a code and fields for a door, and a sentence about the fault itself.

The sentence says what was wrong and where. What to do about it is the door's to say, since a command is
typed and a page is touched: it has words of its own for each code.
"""

from __future__ import annotations

from collections.abc import Mapping


class StockyardError(Exception):
    """Base of every error shown to a person: one line, no traceback.

    `code` names the fault for a door, `fields` the things it is about.
    """

    kind = "error"

    def __init__(self, message: str, code: str = "", fields: Mapping[str, object] | None = None) -> None:
        super().__init__(message)
        self.code = code or self.kind
        self.fields: Mapping[str, object] = dict(fields or {})

    def __reduce__(self) -> tuple[object, ...]:
        """Let an error come whole out of a planner's own process."""
        return _again, (type(self), str(self), self.code, dict(self.fields))


def _again(
    kind: type[StockyardError], message: str, code: str, fields: Mapping[str, object]
) -> StockyardError:
    error = kind.__new__(kind)
    StockyardError.__init__(error, message, code, fields)
    return error


class BadInput(StockyardError):
    """The words, file or number given cannot be used."""

    kind = "bad input"


class Refused(StockyardError):
    """A rule of the yard forbids it; nothing was changed."""

    kind = "refused"


class Interrupted(StockyardError):
    """The person stopped it."""

    kind = "interrupted"
