"""Find words in what was entered: values, complaints, answers, findings.

What is typed is words and nothing else: no sign in it has a meaning.  Names of
people are not found: the journal holds marks in their place.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from diagnose.errors import StoreError
from diagnose.store import full_text, sql
from diagnose.store.engine import Engine, RowOf
from diagnose.store.entry import Entry
from diagnose.store.journal import Casebook
from diagnose.store.parse import stored
from diagnose.store.project import columns_of
from diagnose.store.words import Word, fold, texts_of, words_in

FEWEST_LETTERS = 2
MOST_HITS = 200
MOST_WORDS = 60
"""Words that are looked for; those after them are left out."""
AROUND = 40
"""Letters shown on either side of what was found."""


@dataclass(frozen=True, slots=True)
class Hit:
    """One text that holds what was looked for."""

    entry: Entry
    job: str | None
    case: str | None
    where: str
    """Path in the body of the entry, such as `values.title`."""
    text: str
    """The place with some letters around it."""


@dataclass(frozen=True, slots=True)
class _Way:
    """One way in which an entry can hold the words; the best comes first."""

    together: bool
    """The words stand side by side in one text."""
    whole: bool
    """The last word is a whole one; else a word begins with it."""


_WAYS = (_Way(True, True), _Way(True, False), _Way(False, False))


def search(casebook: Casebook, words: str, *, most: int = MOST_HITS) -> tuple[Hit, ...]:
    """Return the texts that hold `words`: the best first, then the newest.

    Best are texts in which the words stand together, the last of them whole;
    then those where a word begins with the last; then entries that hold all
    the words, wherever.  Only where there is none of these does a match inside
    a word count.  Capitals, accents and signs do not matter.

    Raises
    ------
    StoreError
        When fewer than two letters are given.
    """
    wanted = fold(words)[:MOST_WORDS]
    letters = "".join(wanted)
    too_few = 0 < len(letters) < FEWEST_LETTERS and letters.isascii()
    if too_few or (not letters and len(words.strip()) < FEWEST_LETTERS):
        raise StoreError(f"give at least {FEWEST_LETTERS} letters to look for")
    if not wanted:
        return ()
    with casebook.reading():
        return _found(casebook.engine, wanted, most)


def _found(engine: Engine, wanted: Sequence[str], most: int) -> tuple[Hit, ...]:
    indexed = full_text.ready(engine)
    hits: list[Hit] = []
    seen: set[tuple[str, int]] = set()
    # A single word cannot be scattered.
    for way in _WAYS if len(wanted) > 1 else _WAYS[:2]:
        for row in _rows(engine, wanted, way, most + len(seen), indexed):
            entry = stored(str(row[0]), str(row[1]))
            if (entry.device, entry.seq) not in seen:
                seen.add((entry.device, entry.seq))
                hits += _hits(entry, wanted, way)
        if len(hits) >= most:
            break
    if not hits:
        inside = {"like": f"%{' '.join(wanted)}%", "limit": most}
        for text, hashed in engine.rows(sql.search(("w.words like :like",)), inside):
            hits += _inside(stored(str(text), str(hashed)), " ".join(wanted))
    return tuple(hits[:most])


def _rows(
    engine: Engine, wanted: Sequence[str], way: _Way, limit: int, indexed: bool
) -> list[RowOf]:
    """Return text and hash of entries that hold the words in one way, newest first."""
    end = " %" if way.whole else "%"
    parts = (
        [f"% {' '.join(wanted)}{end}"]
        if way.together
        else [*(f"% {word} %" for word in wanted[:-1]), f"% {wanted[-1]}{end}"]
    )
    params: dict[str, object] = {f"like_{_letters(n)}": part for n, part in enumerate(parts)}
    asked = [f"w.words like :{name}" for name in params]
    params["limit"] = limit
    if indexed:
        match = {"match": full_text.match_of(wanted, not way.whole)}
        try:
            return engine.rows(sql.search((full_text.AMONG, *asked)), {**params, **match})
        except StoreError:
            # A damaged index hides nothing: `verify` names it, `rebuild` makes it anew.
            pass
    return engine.rows(sql.search(asked), params)


def _letters(number: int) -> str:
    """Write a number in letters, as names of parameters hold no digits."""
    return "".join(chr(ord("a") + int(digit)) for digit in str(number))


def _hits(entry: Entry, wanted: Sequence[str], way: _Way) -> Iterator[Hit]:
    """Return one hit for each place of an entry that holds the words, or most of them."""
    best: dict[str, tuple[int, str, Word, Word]] = {}
    for where, text in texts_of(entry):
        words = words_in(text)
        places = _together(words, wanted) if way.together else _scattered(words, wanted)
        if places and (where not in best or best[where][0] < places[0]):
            best[where] = (places[0], text, words[places[1]], words[places[2]])
    most = max((count for count, *_ in best.values()), default=0)
    for where, (count, text, first, last) in best.items():
        if count == most:
            yield _hit(entry, where, text, first.start, last.end)


def _together(words: Sequence[Word], wanted: Sequence[str]) -> tuple[int, int, int] | None:
    """Return how many words were found side by side, and the first and last of them."""
    size = len(wanted)
    for start in range(len(words) - size + 1):
        here = [word.folded for word in words[start : start + size]]
        if here[:-1] == list(wanted[:-1]) and here[-1].startswith(wanted[-1]):
            return size, start, start + size - 1
    return None


def _scattered(words: Sequence[Word], wanted: Sequence[str]) -> tuple[int, int, int] | None:
    """Return how many of the words were found, and where the first found stands, twice."""
    here = {word.folded for word in words}
    found = sum(word in here for word in set(wanted[:-1]))
    found += any(word.startswith(wanted[-1]) for word in here)
    if not found:
        return None
    first = next(
        place
        for place, word in enumerate(words)
        if word.folded in wanted[:-1] or word.folded.startswith(wanted[-1])
    )
    return found, first, first


def _inside(entry: Entry, wanted: str) -> Iterator[Hit]:
    seen: set[str] = set()
    for where, text in texts_of(entry):
        words = words_in(text)
        line = " ".join(word.folded for word in words)
        place = line.find(wanted)
        if place >= 0 and where not in seen:
            seen.add(where)
            first = words[line.count(" ", 0, place)]
            last = words[line.count(" ", 0, place + len(wanted))]
            yield _hit(entry, where, text, first.start, last.end)


def _hit(entry: Entry, where: str, text: str, start: int, end: int) -> Hit:
    job, case = columns_of(entry)
    return Hit(entry, job, case, where, _around(text, start, end))


def _around(text: str, start: int, end: int) -> str:
    first, last = max(0, start - AROUND), end + AROUND
    return ("…" if first else "") + text[first:last] + ("…" if last < len(text) else "")
