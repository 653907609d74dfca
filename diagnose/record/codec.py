"""Write one recorded value as text and read it back.

The journal and the sheet hold values as text: a number as its decimals, a
time as ISO 8601 with offset, yes or no, and whatever is a list as compact
JSON.  The text of a value that a person wrote keeps its own precision; text
made from a value is the shortest that reads back the same.
"""

from __future__ import annotations

import json
import re
import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import lru_cache
from math import inf, isfinite
from typing import Any, Union, get_args, get_origin, get_type_hints

from diagnose.record.fields import FieldRule

EMPTY = "{}"
"""Text of a part or group that exists but holds nothing yet."""

YES, NO = "yes", "no"

_DECIMAL = re.compile(r"-?[0-9]{1,400}(\.[0-9]{1,400})?")
_WHOLE = re.compile(r"-?[0-9]{1,30}")


def encode(rule: FieldRule, value: Any) -> str:
    """Return the shortest text that `decode` reads back as `value`."""
    if rule.kind == "text":
        return str(value)
    if rule.kind == "number":
        return number_text(value)
    if rule.kind == "whole":
        return str(int(value))
    if rule.kind == "yes-no":
        return YES if value else NO
    if rule.kind in ("date", "time"):
        return str(value.isoformat())
    return json_text(value)


def decode(rule: FieldRule, text: str) -> Any:
    """Return the value that `text` stands for.

    Raises
    ------
    ValueError
        When the text is not the canonical form of the field's kind.
    """
    if rule.kind == "text":
        return text
    if rule.kind == "number":
        if not _DECIMAL.fullmatch(text):
            raise ValueError(f"{text[:40]!r} is not a decimal number")
        return _finite(text)
    if rule.kind == "whole":
        if not _WHOLE.fullmatch(text):
            raise ValueError(f"{text[:40]!r} is not a whole number")
        return int(text)
    if rule.kind == "yes-no":
        if text not in (YES, NO):
            raise ValueError(f"{text[:40]!r} is neither yes nor no")
        return text == YES
    if rule.kind in ("date", "time"):
        return _from_json(text, rule.hint)
    try:
        return _from_json(json.loads(text, parse_constant=_no_constant), rule.hint)
    except RecursionError:
        raise ValueError("is nested too deep") from None


def number_text(value: float) -> str:
    """Return a number as decimals without exponent: 1e-05 becomes 0.00001.

    Examples
    --------
    >>> number_text(11.4), number_text(4.0), number_text(1e-5)
    ('11.4', '4', '0.00001')
    """
    number = Decimal(repr(float(value)))
    if not number.is_finite():
        raise ValueError(f"{value} is no number to record")
    if number == number.to_integral_value():
        return format(number.to_integral_value() + 0, "f")
    return format(number, "f")


def json_text(value: Any) -> str:
    """Return tuples, numbers, times and small records as compact JSON."""
    return json.dumps(_to_json(value), ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def _to_json(value: Any) -> Any:
    if isinstance(value, tuple):
        return [_to_json(item) for item in value]
    if isinstance(value, float):
        return int(value) if value.is_integer() and abs(value) < 1e15 else value
    if isinstance(value, date):
        return value.isoformat()
    if is_dataclass(value):
        pairs = ((field.name, getattr(value, field.name)) for field in fields(value))
        return {name: _to_json(item) for name, item in pairs if item is not None}
    return value


def _from_json(value: Any, hint: Any) -> Any:
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, types.UnionType):
        return None if value is None else _from_json(value, args[0])
    if origin is tuple:
        return _tuple(value, args)
    if is_dataclass(hint):
        return _small_record(value, hint)
    if hint is float and isinstance(value, int | float) and not isinstance(value, bool):
        return _finite(value)
    if hint is int and isinstance(value, int) and not isinstance(value, bool):
        return value
    if hint in (str, datetime, date) and isinstance(value, str):
        return value if hint is str else _moment(value, hint)
    raise ValueError(f"{str(value)[:40]!r} is not what this field holds")


def _finite(value: Any) -> float:
    try:
        number = float(value)
    except OverflowError:
        number = inf
    if not isfinite(number):
        raise ValueError(f"{str(value)[:40]!r} is too large a number")
    return number


def _tuple(value: Any, args: tuple[Any, ...]) -> tuple[Any, ...]:
    if not isinstance(value, list):
        raise ValueError(f"{str(value)[:40]!r} is not a list")
    if args[-1] is Ellipsis:
        return tuple(_from_json(item, args[0]) for item in value)
    if len(value) != len(args):
        raise ValueError(f"{len(args)} values are needed, not {len(value)}")
    return tuple(_from_json(item, arg) for item, arg in zip(value, args, strict=True))


def _small_record(value: Any, cls: Any) -> Any:
    if not isinstance(value, dict):
        raise ValueError(f"{str(value)[:40]!r} is not a group of values")
    hints = _hints(cls)
    if not value.keys() <= hints.keys():
        raise ValueError(f"{sorted(value.keys() - hints.keys())[0]!r} is not known here")
    try:
        return cls(**{name: _from_json(item, hints[name]) for name, item in value.items()})
    except TypeError as error:
        raise ValueError(str(error)) from None


def _moment(text: str, hint: Any) -> date | datetime:
    if hint is date:
        return date.fromisoformat(text)
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None or moment.utcoffset() is None:
        raise ValueError(f"{text[:40]!r} carries no offset from UTC")
    return moment


@lru_cache(maxsize=64)
def _hints(cls: Any) -> Mapping[str, Any]:
    return get_type_hints(cls)


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no number to record")
