"""Personal text stays out of the journal, can be forgotten, and the chains still verify."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

from diagnose.errors import NotFoundError, StoreError
from diagnose.store import people
from diagnose.store.jobs import correct, history_of, import_changes, set_value, values_of
from diagnose.store.journal import Casebook
from diagnose.store.merge import copy_into, merge, texts_of
from diagnose.store.person import Person, mark_for

Maker = Callable[[], Casebook]
NAME = "Invented Person, 1 Nowhere Lane"


def test_a_name_is_a_mark_in_the_journal(casebook: Casebook, now: datetime) -> None:
    set_value(casebook, "larch", "contract.client", NAME, said_by="AB", at=now)
    assert values_of(casebook, "larch")[0] == {"contract.client": NAME}
    assert all(NAME not in text for text in texts_of(casebook))
    mark = casebook.entries()[0].body["value"]
    assert mark.startswith("person:")
    assert (
        import_changes(casebook, "larch", {"contract.client": NAME}, said_by="AB", at=now) is None
    )
    assert people.remember(casebook, NAME) == mark
    assert people.recall(casebook, "plain text") == "plain text"


def test_what_is_forgotten_is_gone_and_the_chain_holds(casebook: Casebook, now: datetime) -> None:
    set_value(casebook, "larch", "contract.client", NAME, said_by="AB", at=now)
    assert people.forget(casebook, NAME, at=now, reason="asked by letter") == 1
    assert values_of(casebook, "larch")[0] == {"contract.client": people.FORGOTTEN}
    assert history_of(casebook, "larch", "contract.client")[0].value == people.FORGOTTEN
    assert people.everyone(casebook) == ()
    assert casebook.verify().sound
    with pytest.raises(NotFoundError, match="not among the personal data"):
        people.forget(casebook, NAME, at=now)
    correct(casebook, "larch", "contract.client", NAME, said_by="AB", at=now, reason="agreed again")
    assert values_of(casebook, "larch")[0] == {"contract.client": NAME}


def test_no_byte_of_it_is_left_in_the_file(
    file_casebook: Casebook, path: Path, now: datetime
) -> None:
    set_value(file_casebook, "larch", "contract.client", NAME, said_by="AB", at=now)
    files = list(path.parent.glob("casebook.db*"))
    assert any(NAME.encode() in file.read_bytes() for file in files)
    people.forget(file_casebook, NAME, at=now)
    for file in path.parent.glob("casebook.db*"):
        assert NAME.encode() not in file.read_bytes(), file


def test_a_log_that_still_holds_it_is_told(
    file_casebook: Casebook, path: Path, now: datetime
) -> None:
    people.remember(file_casebook, NAME)
    with Casebook.open(path) as reader, reader.reading():
        reader.count()
        file_casebook.engine.run("pragma busy_timeout = 50")
        with pytest.raises(StoreError, match="the log beside it still holds it"):
            people.forget(file_casebook, NAME, at=now)
    assert people.everyone(file_casebook) == ()
    file_casebook.close()
    for file in path.parent.glob("casebook.db*"):
        assert NAME.encode() not in file.read_bytes(), file


def test_the_text_and_the_note_that_it_is_forgotten_go_together(
    casebook: Casebook, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    people.remember(casebook, NAME)

    def broken(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(people, "drop_forgotten", broken)
    with pytest.raises(KeyboardInterrupt):
        people.forget(casebook, NAME, at=now)
    assert (casebook.count(), len(people.everyone(casebook))) == (0, 1)


def test_forgetting_travels_with_the_next_merge(maker: Maker, now: datetime) -> None:
    here, there = maker(), maker()
    set_value(here, "larch", "contract.client", NAME, said_by="AB", at=now)
    copy_into(here, there)
    assert values_of(there, "larch")[0] == {"contract.client": NAME}
    kept = people.everyone(there)
    people.forget(here, NAME, at=now)
    copy_into(here, there)
    assert people.everyone(there) == ()
    merge(there, (), persons=kept)
    assert people.everyone(there) == ()
    assert values_of(there, "larch")[0] == {"contract.client": people.FORGOTTEN}


def test_a_text_that_does_not_fit_its_mark_is_not_taken(casebook: Casebook) -> None:
    good = Person(mark_for("ab" * 16, "x"), "ab" * 16, "x")
    bad = Person(good.mark, good.salt, "y")
    short = Person(mark_for("ab", "x"), "ab", "x")
    assert (good.sound, bad.sound, short.sound) == (True, False, False)
    merge(casebook, (), persons=[good, bad, short])
    assert people.everyone(casebook) == (good,)


def test_a_mark_given_as_a_value_stays_that_mark(casebook: Casebook, now: datetime) -> None:
    mark = people.remember(casebook, NAME)
    assert people.kept(casebook, NAME)
    assert not people.kept(casebook, "Somebody else")
    set_value(casebook, "larch", "contract.client", mark, said_by="AB", at=now)
    set_value(casebook, "elm", "completion.handed_to", NAME, said_by="AB", at=now)
    assert values_of(casebook, "larch")[0] == {"contract.client": NAME}
    assert people.uses(casebook) == {mark: ("elm", "larch")}
    assert [person.value for person in people.everyone(casebook)] == [NAME]
    people.forget(casebook, NAME, at=now)
    assert not people.kept(casebook, NAME)
