"""Imports inside the package point one way; this test holds the arrows.

The tiers are those of DEVELOPERS.md.  A module may import its own package, a
package of a lower tier, and the few neighbours that are named here.
"""

from __future__ import annotations

import ast
from collections.abc import Iterable, Mapping
from pathlib import Path

import networkx
import pytest

PACKAGE = Path(__file__).parents[2] / "diagnose"

TIERS: tuple[frozenset[str], ...] = (
    frozenset({"errors", "model", "text", "data", "yaml_text"}),
    frozenset({"physics", "record", "rulebook"}),
    frozenset({"checks", "engine"}),
    frozenset({"walk", "store"}),
    frozenset({"forecast", "practice"}),
    frozenset({"reports"}),
    frozenset({"cli"}),
)
NEIGHBOURS = {("record", "physics")}
BASE_ORDER = ("errors", "model", "text", "data", "yaml_text")
NEVER_AT_TOP = {"numpy", "networkx", "jinja2", "shapely", "fsrs", "psycopg", "typst", "PIL", "rich"}


def tier_of(name: str) -> int:
    return next(number for number, names in enumerate(TIERS) if name in names)


def allowed(importer: str, imported: str) -> bool:
    """True when a module of `importer` may import from `imported`."""
    if importer == imported or (importer, imported) in NEIGHBOURS:
        return True
    here, there = tier_of(importer), tier_of(imported)
    if here == there == 0:
        return BASE_ORDER.index(imported) < BASE_ORDER.index(importer)
    return there < here


def imports_of(path: Path) -> set[str]:
    """Every package of ours that a file imports, also inside functions."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        names: list[str] = []
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            module = node.module or ""
            names = [module, *(f"{module}.{alias.name}" for alias in node.names)]
        for name in names:
            parts = name.split(".")
            if parts[0] == "diagnose" and len(parts) > 1 and parts[1] in known_names():
                found.add(parts[1])
    return found


def known_names() -> set[str]:
    return set().union(*TIERS)


def modules() -> list[Path]:
    return sorted(
        path
        for path in PACKAGE.rglob("*.py")
        if path.parent != PACKAGE or path.stem in known_names()
    )


@pytest.mark.parametrize("path", modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_down(path: Path) -> None:
    relative = path.relative_to(PACKAGE)
    importer = relative.parts[0].removesuffix(".py")
    wrong = sorted(name for name in imports_of(path) if not allowed(importer, name))
    assert not wrong, f"{relative} imports {', '.join(wrong)} against the arrows"


def files_imported_by(path: Path) -> set[str]:
    """Every file of ours that a file imports, by its dotted name, also inside functions."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            inside = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= {name if file_of(name) else str(node.module) for name in inside}
    return {name for name in found if file_of(name)}


def file_of(name: str) -> Path | None:
    """The file behind a dotted name of ours; None for a name inside a file, or of others."""
    place = PACKAGE.parent.joinpath(*name.split(".")).with_suffix(".py")
    return place if name.startswith("diagnose.") and place.is_file() else None


def circles(arrows: Mapping[str, Iterable[str]]) -> list[list[str]]:
    """The groups of names that lead back to each other."""
    graph = networkx.DiGraph((name, other) for name in arrows for other in arrows[name])
    return [
        sorted(group) for group in networkx.strongly_connected_components(graph) if len(group) > 1
    ]


def test_no_files_import_each_other_in_a_circle() -> None:
    names = {
        ".".join(("diagnose", *path.relative_to(PACKAGE).with_suffix("").parts)): path
        for path in modules()
    }
    arrows = {name: files_imported_by(path) for name, path in names.items()}
    assert "diagnose.errors" in arrows["diagnose.store.journal"]
    assert circles(arrows) == []
    assert circles({"a": ["b"], "b": ["c"], "c": ["a", "d"]}) == [["a", "b", "c"]]


def test_every_part_of_the_package_has_a_tier() -> None:
    parts = {
        path.name.removesuffix(".py")
        for path in PACKAGE.iterdir()
        if (path.is_dir() and (path / "__init__.py").exists()) or path.suffix == ".py"
    }
    assert parts - {"__init__", "__main__"} == known_names()


def top_level_imports(path: Path) -> set[str]:
    tree = ast.parse(path.read_text("utf-8"))
    found: set[str] = set()
    for node in tree.body:
        if isinstance(node, ast.Import):
            found.update(alias.name.split(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module.split(".")[0])
    return found


@pytest.mark.parametrize("path", sorted((PACKAGE / "cli").glob("*.py")), ids=lambda path: path.stem)
def test_commands_import_nothing_heavy_at_the_top(path: Path) -> None:
    heavy = top_level_imports(path) & NEVER_AT_TOP
    assert not heavy, f"{path.name} imports {', '.join(sorted(heavy))} before it is needed"


PURE = ("physics", "checks", "engine", "walk", "forecast", "practice", "rulebook", "record")
EDGES = {"open", "print", "input"}
CLOCKS = {"now", "today", "utcnow", "monotonic", "perf_counter", "time_ns"}
SURROUNDINGS = {"os", "sys", "time", "uuid", "secrets", "subprocess", "socket", "tempfile"}
FILES = {
    "read_bytes",
    "read_text",
    "write_bytes",
    "write_text",
    "exists",
    "is_file",
    "stat",
    "mkdir",
}
READS_RULES = {"rulebook/load.py", "rulebook/cache.py", "rulebook/cases.py"}
"""Modules of the core that are handed a folder, and read or keep rules there."""


@pytest.mark.parametrize(
    "path",
    sorted(path for name in PURE for path in (PACKAGE / name).rglob("*.py")),
    ids=lambda path: str(path.relative_to(PACKAGE)),
)
def test_the_core_reads_no_clock_and_prints_nothing(path: Path) -> None:
    assert not impurities(path.read_text("utf-8"), str(path.relative_to(PACKAGE)))


def impurities(source: str, name: str) -> list[str]:
    """What a module of the core does that it must not, with the line."""
    tree = ast.parse(source)
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found += [
                (node.lineno, alias.name) for alias in node.names if alias.name in SURROUNDINGS
            ]
        elif isinstance(node, ast.ImportFrom) and node.module in SURROUNDINGS:
            found.append((node.lineno, str(node.module)))
        elif isinstance(node, ast.Call):
            call = node.func
            if isinstance(call, ast.Name) and call.id in EDGES:
                found.append((node.lineno, call.id))
            elif isinstance(call, ast.Attribute) and call.attr in CLOCKS | FILES:
                found.append((node.lineno, call.attr))
    if name in READS_RULES:
        found = [(line, word) for line, word in found if word not in FILES | {"os", "tempfile"}]
    return [f"{name}, line {line}: {word}" for line, word in found]


@pytest.mark.parametrize(
    "line",
    [
        "import os",
        "from time import monotonic",
        "import datetime; datetime.datetime.now()",
        "from pathlib import Path; Path('x').exists()",
        "print(1)",
    ],
)
def test_the_look_for_impurities_can_fail(line: str) -> None:
    assert impurities(line, "engine/beta.py")


def test_nothing_in_rules_or_casebook_can_be_imported() -> None:
    for name in ("rules", "casebook"):
        assert not list((PACKAGE.parent / name).rglob("*.py"))


def test_the_arrow_check_can_fail() -> None:
    assert not allowed("model", "engine")
    assert not allowed("engine", "checks")
    assert not allowed("walk", "store")
    assert allowed("checks", "physics")
