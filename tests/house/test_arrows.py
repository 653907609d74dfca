"""Imports inside the package point one way; this test holds the arrows.

The tiers are those of DEVELOPERS.md.  A module may import its own package, a
package of a lower tier, and the few neighbours that are named here.
"""

from __future__ import annotations

import ast
from pathlib import Path

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
CLOCKS = {("datetime", "now"), ("datetime", "today"), ("date", "today"), ("time", "time")}


@pytest.mark.parametrize(
    "path",
    sorted(path for name in PURE for path in (PACKAGE / name).rglob("*.py")),
    ids=lambda path: str(path.relative_to(PACKAGE)),
)
def test_the_core_reads_no_clock_and_prints_nothing(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if not isinstance(node, ast.Call):
            continue
        call = node.func
        if isinstance(call, ast.Name):
            assert call.id not in EDGES, f"{path.name}, line {node.lineno}: {call.id}()"
        if isinstance(call, ast.Attribute) and isinstance(call.value, ast.Name):
            pair = (call.value.id, call.attr)
            assert pair not in CLOCKS, f"{path.name}, line {node.lineno}: {'.'.join(pair)}()"
            assert pair != ("os", "getenv"), f"{path.name}, line {node.lineno}: os.getenv()"


def test_nothing_in_rules_or_casebook_can_be_imported() -> None:
    for name in ("rules", "casebook"):
        assert not list((PACKAGE.parent / name).rglob("*.py"))


def test_the_arrow_check_can_fail() -> None:
    assert not allowed("model", "engine")
    assert not allowed("engine", "checks")
    assert not allowed("walk", "store")
    assert allowed("checks", "physics")
