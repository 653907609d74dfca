"""Write a job's values as a sheet that a person can edit and bring back.

Reading the sheet again gives the same values; logs come from files of their
own and are left out.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any

from diagnose.record.fields import field_of

_PLAIN = re.compile(r"[A-Za-z0-9][A-Za-z0-9 _./+()%-]*\Z")
_LEFT_OUT = ("climate.",)


def write_sheet(job_id: str, values: Mapping[str, str]) -> str:
    """Return the sheet of a job as YAML text."""
    tree: dict[str, Any] = {}
    for path, text in values.items():
        if path.startswith(_LEFT_OUT):
            continue
        here = tree
        *steps, last = path.split(".")
        for step in steps:
            here = here.setdefault(step, {})
        here[last] = (path, text)
    lines = [f"id: {_scalar(job_id)}", *_lines(tree, 0)]
    return "\n".join(lines) + "\n"


def _lines(tree: Mapping[str, Any], depth: int) -> list[str]:
    lines = []
    for key, value in tree.items():
        lead = "  " * depth + _scalar(key) + ":"
        if isinstance(value, tuple):
            lines.append(f"{lead} {_leaf(*value)}")
        else:
            lines += [lead, *_lines(value, depth + 1)]
    return lines


def _leaf(path: str, text: str) -> str:
    rule = field_of(path)
    if text.startswith("[") and rule is not None and rule.kind != "text":
        return _flow(json.loads(text, parse_float=str, parse_int=str))
    return _scalar(text)


def _flow(value: Any) -> str:
    if isinstance(value, list):
        return "[" + ", ".join(_flow(each) for each in value) + "]"
    return _scalar(str(value))


def _scalar(text: str) -> str:
    """Return text as YAML: plain where that is safe, else in double quotes."""
    if _PLAIN.match(text) and text == text.strip() and ": " not in text and " #" not in text:
        return text
    return json.dumps(text, ensure_ascii=False)
