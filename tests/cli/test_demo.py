"""The first thing a newcomer runs."""

from diagnose.store.cases import list_cases, show_case
from diagnose.store.journal import Casebook


def test_the_demo_ends_in_the_cause_built_into_the_job(diagnose, tmp_path):
    seen = diagnose("demo", tmp_path / "shop")
    assert seen.code == 0
    assert seen.err == ""
    assert "Edges cut too full" in seen.out
    assert "Invented example" in seen.out
    assert seen.out.count("from the record]") >= 2
    assert "CAUTION" in seen.out
    assert seen.out.index("CAUTION") < seen.out.index("What to do")


def test_a_folder_that_holds_something_is_left_alone(diagnose, tmp_path):
    (tmp_path / "mine.txt").write_text("keep")
    seen = diagnose("demo", tmp_path)
    assert seen.code == 5
    assert "not empty" in seen.err
    assert [path.name for path in tmp_path.iterdir() if path.is_file()] == ["mine.txt"]


def test_the_record_was_made_on_the_day_and_the_casebook_is_sound(demo):
    with Casebook.open(demo) as book:
        assert book.verify().sound
        (line,) = list_cases(book)
        case = show_case(book, line.id)
    assert len(case.steps) >= 2
    assert "on-the-day" in str(case.findings[-1].body["finding"])


def test_every_command_that_the_demo_proposes_works(diagnose, tmp_path):
    seen = diagnose("demo", tmp_path / "d")
    lines = seen.out.split("Try next")[1].replace("\n    ", " ").splitlines()
    joined = " ".join(line.strip() for line in lines)
    commands = [part.split() for part in joined.split("diagnose ")[1:]]
    assert len(commands) >= 4
    for words in commands:
        extra = ["--no-input"] if words[0] == "walk" else []
        again = diagnose(*words, *extra)
        assert again.code == 0, f"{words}: {again.err}"
