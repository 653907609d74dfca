"""Make a typed job of recorded values, and recorded values of a job.

Values are held by path, one text each: `spreads.SP1.laid_at`.  A part exists
as soon as one of its values does; a part or group that holds nothing is kept
as the text `{}` at its own path.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import MISSING
from dataclasses import fields as dataclass_fields
from typing import Any

from diagnose.errors import InputError, Problem
from diagnose.model import EntryRef
from diagnose.record.codec import EMPTY, decode, encode
from diagnose.record.fields import Branch, FieldRule, Keyed, Section, child_of, tree
from diagnose.record.model import Job
from diagnose.record.provenance import provenance_of

__all__ = ["flatten", "fold", "provenance_of", "unread"]

KIND_NEVER_RECORDED = "other"
"""Kind of a reading or later event whose kind nobody wrote down."""


def fold(
    job_id: str,
    values: Mapping[str, str],
    origins: Mapping[str, EntryRef] | None = None,
) -> Job:
    """Return the job that the values describe.

    Paths that this version does not know are left out; `unread` names them.

    Raises
    ------
    InputError
        With one problem for each value that is not in its field's form.
    """
    grown: dict[str, Any] = {}
    problems: list[Problem] = []
    for path, text in values.items():
        try:
            _place(grown, path, text)
        except ValueError as error:
            problems.append(Problem(None, f"{path} cannot be read: {error}"))
    if problems:
        raise InputError(problems)
    made = _filled(tree(), grown)
    return Job(id=job_id, origins=dict(origins or {}), **made)


def flatten(job: Job) -> dict[str, str]:
    """Return the values of a job by path, so that `fold` makes the same job.

    What was never recorded has no path.  Id and origins of the job are no
    values of it.

    Examples
    --------
    >>> from diagnose.record.model import Job, Seam
    >>> flatten(Job(id="x", seams={"S1": Seam(id="S1", forced=False)}))
    {'seams.S1.forced': 'no'}
    """
    return dict(_values_of(tree(), job, ""))


def unread(values: Mapping[str, str]) -> tuple[str, ...]:
    """Return the paths that `fold` leaves out because it does not know them."""
    return tuple(path for path, text in values.items() if not _place({}, path, text, check=False))


def _place(grown: dict[str, Any], path: str, text: str, check: bool = True) -> bool:
    here: Branch | None = tree()
    steps = path.split(".")
    for step in steps:
        here = child_of(here, step)
        if here is None:
            return False
    if not isinstance(here, FieldRule):
        if text == EMPTY:
            _group(grown, steps)
        return text == EMPTY
    if check:
        _group(grown, steps[:-1])[steps[-1]] = decode(here, text)
    return True


def _group(grown: dict[str, Any], steps: list[str]) -> dict[str, Any]:
    for step in steps:
        grown = grown.setdefault(step, {})
    return grown


def _built(branch: Branch, grown: Any) -> Any:
    if isinstance(branch, FieldRule):
        return grown
    if isinstance(branch, Section):
        return branch.type(**_filled(branch, grown))
    if not isinstance(branch.item, Section):
        return dict(grown)
    parts = {key: _part(branch, branch.item, key, inner) for key, inner in grown.items()}
    return tuple(parts.values()) if branch.as_tuple else parts


def _part(keyed: Keyed, item: Section, key: str, grown: dict[str, Any]) -> Any:
    own = {keyed.key: key} if keyed.key else {}
    return item.type(**own, **_filled(item, grown))


def _filled(section: Section, grown: dict[str, Any]) -> dict[str, Any]:
    made = {name: _built(section.children[name], inner) for name, inner in grown.items()}
    for name, child in section.children.items():
        if isinstance(child, FieldRule) and child.required and name not in made:
            made[name] = KIND_NEVER_RECORDED
    return made


def _values_of(section: Section, holder: Any, prefix: str) -> Iterator[tuple[str, str]]:
    defaults = {field.name: field.default for field in dataclass_fields(section.type)}
    for name, child in section.children.items():
        value = getattr(holder, name)
        path = f"{prefix}{name}"
        if isinstance(child, FieldRule):
            if defaults[name] is MISSING or value != defaults[name]:
                yield path, encode(child, value)
        elif isinstance(child, Keyed):
            yield from _keyed_values(child, value, path)
        elif value is not None:
            yield from _marked(child, value, path, child.optional)


def _keyed_values(keyed: Keyed, held: Any, path: str) -> Iterator[tuple[str, str]]:
    parts = {getattr(part, keyed.key): part for part in held} if keyed.as_tuple else held
    for key, part in parts.items():
        if isinstance(keyed.item, Section):
            yield from _marked(keyed.item, part, f"{path}.{key}", True)
        elif isinstance(keyed.item, FieldRule):
            yield f"{path}.{key}", encode(keyed.item, part)


def _marked(section: Section, holder: Any, path: str, mark: bool) -> Iterator[tuple[str, str]]:
    inner = list(_values_of(section, holder, f"{path}."))
    yield from inner
    if mark and not inner:
        yield path, EMPTY
