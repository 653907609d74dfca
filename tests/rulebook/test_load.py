"""Loading rules: what is read, and how a mistake is told."""

import pytest

from diagnose.errors import InputError
from diagnose.rulebook.load import edition_of, load_rules

LINKS = "links:\n- {cause: poor-cut, shows: frayed, strength: often, because: b}\n"


def test_an_unknown_cause_is_named_with_its_line(tmp_path):
    (tmp_path / "links").mkdir()
    (tmp_path / "links" / "cutting.yaml").write_text(LINKS)
    with pytest.raises(InputError, match=r"cutting\.yaml, line 2: no cause is called poor-cut"):
        load_rules(tmp_path)


def test_an_empty_folder_loads_as_no_rules(tmp_path):
    assert not load_rules(tmp_path).causes


def test_the_edition_changes_with_the_content():
    assert edition_of({"a.yaml": b"x"}) != edition_of({"a.yaml": b"y"})
