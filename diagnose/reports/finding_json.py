"""A finding as JSON text, and back: what is stored is what was found."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import datetime
from enum import StrEnum
from typing import Any, get_args, get_origin, get_type_hints

from diagnose.errors import StoreError
from diagnose.walk.finding import Finding

FORMAT = 1


def finding_to_dict(finding: Finding) -> dict[str, Any]:
    """Return the finding as plain values; chances with four decimals."""
    return {"format": FORMAT, **plain_values(finding)}


def finding_to_json(finding: Finding) -> str:
    """Return the finding as one line of JSON text."""
    return json.dumps(finding_to_dict(finding), ensure_ascii=False, sort_keys=True)


def finding_from_json(text: str) -> Finding:
    """Return the finding that a JSON text holds.

    Raises
    ------
    StoreError
        The text is no finding of a known format.
    """
    try:
        raw = json.loads(text)
        if raw.pop("format") != FORMAT:
            raise StoreError("the stored finding was written by a newer version of the program")
        found = _typed(Finding, raw)
    except (ValueError, KeyError, TypeError, AttributeError) as error:
        raise StoreError("the stored finding cannot be read") from error
    assert isinstance(found, Finding)
    return found


def plain_values(value: Any) -> Any:
    """Return a value of dataclasses as what JSON can hold; chances with four decimals."""
    if is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain_values(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple | list):
        return [plain_values(each) for each in value]
    if isinstance(value, Mapping):
        return {str(key): plain_values(each) for key, each in value.items()}
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, float):
        return round(value, 4)
    return value


def _typed(wanted: Any, raw: Any) -> Any:
    """Build a value of the annotated type from plain JSON values."""
    if raw is None:
        return None
    if is_dataclass(wanted) and isinstance(wanted, type):
        hints = get_type_hints(wanted)
        known = {field.name for field in fields(wanted)}
        return wanted(**{k: _typed(hints[k], v) for k, v in raw.items() if k in known})
    if get_origin(wanted) is tuple:
        kinds = get_args(wanted)
        if len(kinds) == 2 and kinds[1] is Ellipsis:
            return tuple(_typed(kinds[0], each) for each in raw)
        return tuple(_typed(kind, each) for kind, each in zip(kinds, raw, strict=True))
    options = [option for option in get_args(wanted) if option is not type(None)]
    if options:
        return _typed(options[0], raw)
    if wanted is datetime:
        return datetime.fromisoformat(raw)
    if isinstance(wanted, type) and issubclass(wanted, StrEnum):
        return wanted(raw)
    if wanted is float:
        return float(raw)
    return raw
