"""The heading that holds for the lines below it, and what of the one before still does."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from stockyard.cutlist.draft import Draft, Heading
from stockyard.cutlist.model import Question, Reading
from stockyard.cutlist.questions import Asked, chosen


class Holding:
    """Keeps the heading that holds, and the questions whether another does: asked if parts hang on them."""

    def __init__(self, asked: Asked) -> None:
        self._asked = asked
        self.heading = Heading()
        self._carried: list[tuple[Question, Callable[[Draft], bool]]] = []
        self._titles: list[Question] = []

    def aside(self) -> Holding:
        """Return one with the same heading, for a look: what it would ask is not kept."""
        other = Holding(self._asked)
        other.heading = self.heading
        return other

    def lose(self, question: Question) -> None:
        """Hold nothing below an open line that may be a title: what it would say is not known."""
        self.heading = Heading(line=question.line, finished=self.heading.finished)
        self._titles.append(question)

    def open(self, heading: Heading, raw: str) -> str:
        """Let a heading hold from here on and return what to say of it; what may or may not hold is asked."""
        old = self.heading
        if heading.maybe:
            asks = f"are the parts below '{heading.title[:60]}' of {heading.maybe}?"
            yes = f"yes, of {heading.maybe}"
            if self._is_held(heading, "", raw, asks, yes, _of_material(heading.line, heading.maybe)):
                heading = replace(heading, material=heading.maybe)
        what = " ".join(w for w in (old.thickness.text if old.thickness else "", old.material) if w)
        if not (heading.material or heading.thickness or heading.nominal) and what:
            asks = f"does '{what}' still hold below '{heading.title[:60]}'?"
            tail = ".2" if heading.maybe else ""
            if self._is_held(
                heading, tail, raw, asks, f"yes, {what}", _of_material(heading.line, old.material)
            ):
                heading = replace(heading, material=old.material, thickness=old.thickness)
        elif heading.material and not (heading.thickness or heading.nominal or old.material):
            heading = replace(heading, thickness=old.thickness)
        for tail, held in ((".3", "bands"), (".4", "grain")):
            words = getattr(old, held)
            if words and not getattr(heading, held):
                asks = f"does '{words}' still hold below '{heading.title[:60]}'?"
                if self._is_held(heading, tail, raw, asks, f"yes, {words}", _with(heading.line, held, words)):
                    heading = replace(heading, **{held: words})
        finished = heading.finished if heading.finished is not None else old.finished
        self.heading = replace(heading, finished=finished)
        return _held(self.heading)

    def _is_held(
        self, heading: Heading, tail: str, raw: str, asks: str, yes: str, hangs: Callable[[Draft], bool]
    ) -> bool:
        """Whether something holds below a heading; asked at the end if a part hangs on it."""
        question = Question(
            id=f"heading{heading.line}{tail}", line=heading.line, column=1, text=raw.strip()[:200],
            unclear=asks, readings=(Reading("yes", yes), Reading("no", "no")), lines=(heading.line,),
            kind="row",
        )  # fmt: skip
        answer = self._asked.answers.get(question.id)
        if answer is None:
            self._carried.append((question, hangs))
        return answer is None or chosen(question, answer) == "yes"

    def ask(self, drafts: Sequence[Draft]) -> None:
        """Ask at the end of the list what parts really hang on."""
        self._asked.open.extend(q for q, hangs in self._carried if any(map(hangs, drafts)))
        for title in self._titles:
            hanging = {d.line for d in drafts if d.heading.line == title.line and not d.material}
            if hanging:
                at = self._asked.open.index(title)
                self._asked.open[at] = replace(title, lines=(title.line, *sorted(hanging)))


def _of_material(line: int, material: str) -> Callable[[Draft], bool]:
    return lambda draft: draft.heading.line == line and draft.material == material


def _with(line: int, field: str, words: str) -> Callable[[Draft], bool]:
    return lambda draft: draft.heading.line == line and getattr(draft, field) == words


def _held(heading: Heading) -> str:
    """Say what a heading holds for the lines below it."""
    thick = heading.thickness.text if heading.thickness else heading.nominal or ""
    said = [f"{thick} {heading.material}".strip(), heading.bands, heading.grain and f"grain {heading.grain}"]
    words = ", ".join(w for w in said if w)
    return f"heading '{heading.title[:60]}'" + (f": {words} from here on" if words else ", only a title")
