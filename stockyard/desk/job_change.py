"""A stored job changed at the desk: counts, sizes, parts, names and notes, or by its list read again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from stockyard.cutlist.diff import diff, told
from stockyard.desk.allowances import again
from stockyard.desk.job_list import Ways, understand
from stockyard.desk.list_again import Again
from stockyard.desk.routed_sheets import look_at_size
from stockyard.desk.sets import refuse_broken_sets
from stockyard.desk.stock import machine
from stockyard.errors import BadInput
from stockyard.kinds import Method
from stockyard.measure import Length, read_size
from stockyard.yard import Yard, jobs
from stockyard.yard.accepted import accepts
from stockyard.yard.job_edit import Edit, Edited, edit_job
from stockyard.yard.materials import materials
from stockyard.yard.model import Job, JobPart
from stockyard.yard.planned import StoredPlan
from stockyard.yard.plans import standing_plan

USUAL = "usual"
"""What a part or job is cut on when it does not say so itself."""

__all__ = ["USUAL", "JobChanged", "Wishes", "change_job", "take_list", "told_apart"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What is to be changed, as a person writes it.

    `counts`, `sizes`, `renames` and `notes` are by the name of the part; a size is as cut. `added` are lines
    of a cut list, `removed` names; `name` is the job's new name, empty to keep it. `machines` say what parts
    are cut on: saw, router, or `usual` for what job or material say; `machine` says it of the whole job,
    empty to keep it. `outlines` are the drawing exchange files of shaped parts, each with its name for
    messages; nothing in it makes the part a rectangle again. `allowances` are what parts are sawn larger:
    `usual`, `as is` or figures.
    """

    counts: Mapping[str, str] = field(default_factory=dict)
    sizes: Mapping[str, str] = field(default_factory=dict)
    renames: Mapping[str, str] = field(default_factory=dict)
    notes: Mapping[str, str] = field(default_factory=dict)
    added: tuple[str, ...] = ()
    removed: tuple[str, ...] = ()
    name: str = ""
    machines: Mapping[str, str] = field(default_factory=dict)
    machine: str = ""
    outlines: Mapping[str, tuple[bytes, str]] = field(default_factory=dict)
    allowances: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobChanged:
    """A job that was changed, a line for each difference, and what planning it again needs to know.

    `to_plan` says that its plan must be mended; `called` names its renamed parts.
    """

    number: int
    name: str
    lines: tuple[str, ...]
    to_plan: bool
    called: Mapping[str, str]
    on_bench: tuple[str, ...]


def change_job(yard: Yard, name: str, wishes: Wishes) -> JobChanged:
    """Change a stored job: one deed. What its plan no longer fits must be planned again.

    Raises:
        BadInput: no such job or part, a count or size that is none, a line that is not understood.
        Refused: nothing would change, or more of a part is cut than it is to have.
    """
    with yard.reading():
        job = jobs.job(yard, name)
        edit = _edit(yard, job, wishes)
    return _changed(yard, job, edit)


def take_list(yard: Yard, again: Again, text: str) -> JobChanged:
    """Change a job to what its list, read again, says: one deed; errors as `change_job`."""
    job, difference = again.job, again.difference
    kept = dict(enumerate(job.parts))
    for at, _ in difference.removed:
        del kept[at]
    for c in difference.changed:
        kept[c.at] = replace(c.new, priority=c.old.priority, method=c.old.method, outline=c.old.outline)
    return _changed(yard, job, Edit(kept=kept, added=difference.added, text=text))


def _changed(yard: Yard, job: Job, edit: Edit) -> JobChanged:
    new = (*(edit.kept[i] for i in sorted(edit.kept)), *edit.added)
    refuse_broken_sets(replace(job, parts=new), yard.unit)
    _refuse_other_sizes(yard, job, edit)
    lines = list(told(diff(job.parts, new), yard.unit))
    if edit.name:
        lines.insert(0, f"the job is called {edit.name}")
    lines += _cut_on(job, edit)
    with yard.reading():
        before = _pulled(yard, standing_plan(yard, job.together_id or job.id))
    done: Edited = edit_job(yard, job.id, edit, "; ".join(lines)[:300] or "its list")
    from stockyard.desk.jobs import left_on_bench

    return JobChanged(
        number=job.id,
        name=done.job.name,
        lines=tuple(lines),
        to_plan=done.to_plan,
        called=done.called,
        on_bench=left_on_bench(yard, before),
    )


def _pulled(yard: Yard, plan: StoredPlan | None) -> Sequence[str]:
    from stockyard.yard.pulling import pulled_for

    return [p.tag for p in pulled_for(yard, plan.job_id)] if plan else ()


def _edit(yard: Yard, job: Job, wishes: Wishes) -> Edit:
    kept = dict(enumerate(job.parts))
    for name, text in wishes.counts.items():
        at = part_named(job, name)
        kept[at] = replace(kept[at], count=_count(text))
    for name, text in wishes.sizes.items():
        at = part_named(job, name)
        kept[at] = _sized(kept[at], *read_size(text, yard.unit))
    for name, text in wishes.notes.items():
        at = part_named(job, name)
        kept[at] = replace(kept[at], note=text.strip())
    known = [m for m in materials(yard) if not m.retired] if wishes.allowances else []
    for name, text in wishes.allowances.items():
        at = part_named(job, name)
        accepted = [m for m in known if accepts(kept[at], m)]
        kept[at] = again(kept[at], text, accepted, yard.settings)
    for name, text in wishes.renames.items():
        at = part_named(job, name)
        if not text.strip():
            raise BadInput(f"part {job.parts[at].name} needs a name")
        kept[at] = replace(kept[at], name=text.strip())
    for name, text in wishes.machines.items():
        at = part_named(job, name)
        kept[at] = replace(kept[at], method=_machine(text))
    for name, (data, file) in wishes.outlines.items():
        at = part_named(job, name)
        kept[at] = replace(kept[at], outline=_outline(yard, kept[at], data, file))
    for name in wishes.removed:
        kept.pop(part_named(job, name), None)
    added = [part for line in wishes.added for part in _line(yard, line)]
    method: Method | Literal[""] | None = _machine(wishes.machine) if wishes.machine else ""
    return Edit(kept=kept, added=tuple(added), name=wishes.name or None, method=method)


def _machine(text: str) -> Method | None:
    return None if text.strip().lower() == USUAL else machine(text)


def _refuse_other_sizes(yard: Yard, job: Job, edit: Edit) -> None:
    """Look that no part got another size than the outline that it keeps.

    Raises:
        BadInput: one did.
    """
    for i, part in edit.kept.items():
        old = job.parts[i]
        resized = (part.length, part.width) != (old.length, old.width)
        if part.outline and part.outline == old.outline and resized:
            try:
                _outline(yard, part, part.outline.encode("utf-8"), part.name)
            except BadInput as error:
                raise BadInput(f"{error}; give its new outline too, or none") from None


def _outline(yard: Yard, part: JobPart, data: bytes, file: str) -> str:
    """Return the outline of a part as it is kept, once it was read and found of the part's size."""
    if not file:
        return ""
    from stockyard.printing.outline_file import outline_text

    text, outline = outline_text(data, file, yard.unit)
    look_at_size(part.name, part.length, part.width, outline, yard.unit)
    return text


def _cut_on(job: Job, edit: Edit) -> Iterator[str]:
    """Yield a line for each part, and the job, that is cut on another machine or has another outline."""
    if edit.method != "" and edit.method is not job.method:
        yield f"its sheets are cut on the {edit.method}" if edit.method else "cut on what its materials say"
    for i, part in edit.kept.items():
        if part.method is not job.parts[i].method:
            yield f"{part.name}: " + (f"cut on the {part.method}" if part.method else "cut as the job")
        if part.outline != job.parts[i].outline:
            yield f"{part.name}: " + ("has another outline" if part.outline else "is a rectangle again")


def told_apart(yard: Yard, name: str, text: str) -> tuple[str, str]:
    """Return the part and what is said of it in `PART=TEXT`, where both may have such signs in them.

    The longest beginning that names a part of the job is the part; without one all before the last sign. It
    is empty where there is no sign.

    Raises:
        BadInput: no such job.
    """
    signs = [i for i, c in enumerate(text) if c == "="][::-1]
    splits = [(text[:i].strip(), text[i + 1 :].strip()) for i in signs]
    if len(splits) > 1:
        with yard.reading():
            job = jobs.job(yard, name)
        splits.sort(key=lambda split: not _names_part(job, split[0]))
    return splits[0] if splits else ("", text.strip())


def _names_part(job: Job, text: str) -> bool:
    try:
        part_named(job, text)
    except BadInput:
        return False
    return True


def part_named(job: Job, wanted: str) -> int:
    """Return where in a job a part stands, by its name in plans, its own, or a start of it that only one has.

    Raises:
        BadInput: none or several.
    """
    low = wanted.strip().casefold()
    names = [name for name, _ in jobs.named_parts(job)]
    for found in (
        [i for i, name in enumerate(names) if name.casefold() == low],
        [i for i, part in enumerate(job.parts) if part.name.casefold() == low],
        [i for i, name in enumerate(names) if low and name.casefold().startswith(low)],
    ):
        if len(found) == 1:
            return found[0]
        if found:
            raise BadInput(f"'{wanted[:40]}' may be {', '.join(names[i] for i in found[:8])}: say which")
    raise BadInput(f"job {job.name} has no part '{wanted[:40]}': its parts are {', '.join(names[:12])}")


def _count(text: str) -> int:
    if not text.strip().isdecimal() or not 1 <= int(text) <= 1_000_000:
        raise BadInput(f"'{text[:20]}' is no count: write a whole number from 1 on")
    return int(text)


def _sized(part: JobPart, length: int, width: int) -> JobPart:
    """Return a part of another cut size; its finished size changes by as much."""
    long, wide = part.finished_length, part.finished_width
    return replace(
        part,
        length=Length(length),
        width=Length(width),
        finished_length=None if long is None else Length(long + length - part.length),
        finished_width=None if wide is None else Length(wide + width - part.width),
    )


def _line(yard: Yard, text: str) -> Sequence[JobPart]:
    found = understand(yard, text, Ways(first="along"))
    if found.questions:
        q = found.questions[0]
        raise BadInput(f"'{text[:60]}': {q.unclear.rstrip('?:')}: write the line so that it says so")
    if not found.parts or found.unread or found.ignored:
        raise BadInput(f"'{text[:60]}' is not understood whole: write it as '2 shelf 600 x 300 birch ply 18'")
    return found.parts
