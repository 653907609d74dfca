"""One personal text, and the mark that stands for it in the journal."""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass

from diagnose.store import sql
from diagnose.store.engine import Engine

_SALT = re.compile(r"[0-9a-f]{32}")


@dataclass(frozen=True, slots=True)
class Person:
    """One personal text with its salt, as it travels between devices of one owner."""

    mark: str
    salt: str
    value: str

    @property
    def sound(self) -> bool:
        """True when the mark is that of salt and text, and a database can hold the text."""
        return (
            can_be_kept(self.value)
            and _SALT.fullmatch(self.salt) is not None
            and self.mark == mark_for(self.salt, self.value)
        )


def can_be_kept(value: str) -> bool:
    """Return whether every database holds a text: no NUL, no half of a character."""
    return "\0" not in value and not any("\ud800" <= char <= "\udfff" for char in value)


def mark_for(salt: str, value: str) -> str:
    """Return the mark that stands in the journal for a personal text."""
    digest = hashlib.sha256(f"{salt}{value}".encode("utf-8", "surrogatepass")).hexdigest()
    return f"person:{digest}"


def persons_in(engine: Engine) -> tuple[Person, ...]:
    """Return every personal text that is still kept."""
    rows = engine.rows(sql.GET_PEOPLE)
    return tuple(Person(str(mark), str(salt), str(value)) for mark, salt, value in rows)
