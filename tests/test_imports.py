"""Imports go down the list of rooms, never up; and no two modules need each other."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import detailgen

PACKAGE = Path(detailgen.__file__).parent
ROOMS = (  # top to bottom: a room may import from the rooms below it
    "cli",
    "batch",
    "survey",
    "project",
    "report",
    "output",
    "sheet",
    "quantities",
    "rules",
    "measure",
    "physics",
    "conditions",
    "section",
    "catalogue",
    "fields",
    "units",
    "folder",
    "locking",
    "errors",
    "_version",
)
# The libraries that only one room may know, and that must not be loaded before they are needed.
ONLY_IN = {
    "ezdxf": ("output", "survey"),
    "matplotlib": ("output",),
    "click": ("cli",),
    "fontTools": ("output",),
    "distributed": ("batch",),
}


def modules() -> dict[str, Path]:
    """All modules of the package by dotted name without ``detailgen.``; packages by their own name."""
    out = {}
    for path in sorted(PACKAGE.rglob("*.py")):
        parts = path.relative_to(PACKAGE).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        if name and not name.startswith("__main__"):
            out[name] = path
    return out


MODULES = modules()


def imported(name: str, path: Path, *, typing: bool = True) -> list[tuple[int, str]]:
    """Line and full name of everything a module imports, also inside functions and, if `typing`, for types only."""
    out: list[tuple[int, str]] = []
    package = ["detailgen", *name.split(".")]
    if path.name != "__init__.py":
        package.pop()
    tree = ast.parse(path.read_text(encoding="utf-8"), str(path))
    for_types = [n for n in ast.walk(tree) if isinstance(n, ast.If) and "TYPE_CHECKING" in ast.unparse(n.test)]
    skip = set() if typing else {id(n) for block in for_types for part in block.body for n in ast.walk(part)}
    for node in (n for n in ast.walk(tree) if id(n) not in skip):
        if isinstance(node, ast.Import):
            out += [(node.lineno, a.name) for a in node.names]
        elif isinstance(node, ast.ImportFrom):
            base = package[: len(package) - node.level + 1] if node.level else []
            module = ".".join([*base, *([node.module] if node.module else [])])
            out += [(node.lineno, f"{module}.{a.name}") for a in node.names]
        elif isinstance(node, ast.Call) and ast.unparse(node.func).split(".")[-1] in ("import_module", "__import__"):
            first = node.args[0] if node.args else None
            if isinstance(first, ast.Constant) and isinstance(first.value, str):
                out.append((node.lineno, first.value))
    return out


def own(target: str) -> str | None:
    """The module of the package that an imported name lies in, or None."""
    if not target.startswith("detailgen."):
        return None
    parts = target.removeprefix("detailgen.").split(".")
    for n in range(len(parts), 0, -1):
        if ".".join(parts[:n]) in MODULES:
            return ".".join(parts[:n])
    return None


def breaches(name: str, imports: list[tuple[int, str]]) -> list[str]:
    """Who broke the order of the rooms, in words."""
    room = name.split(".")[0]
    out = []
    for line, target in imports:
        other = own(target)
        if other is None:
            continue
        below = other.split(".")[0]
        if below != room and ROOMS.index(below) < ROOMS.index(room):
            out.append(f"{name} line {line} imports {target}: {room} lies below {below}")
    return out


def test_every_module_stands_in_a_room() -> None:
    strangers = [name for name in MODULES if name.split(".")[0] not in ROOMS]
    assert strangers == []


@pytest.mark.parametrize("name", sorted(MODULES))
def test_imports_only_go_down(name: str) -> None:
    assert breaches(name, imported(name, MODULES[name])) == []


def test_an_import_upwards_is_found() -> None:
    assert breaches("section.front", [(7, "detailgen.conditions")]) == [
        "section.front line 7 imports detailgen.conditions: section lies below conditions"
    ]
    assert breaches("conditions.parapet", [(7, "detailgen.section.front.fill")]) == []


def test_no_two_modules_need_each_other_to_run() -> None:
    graph: dict[str, set[str]] = {}
    for name, path in MODULES.items():
        inner = {own(target) for _, target in imported(name, path, typing=False)} - {None, name}
        graph[name] = {m for m in inner if m is not None and not name.startswith(f"{m}.")}  # a package may name itself
    done: set[str] = set()
    circles: list[str] = []

    def walk(name: str, trail: list[str]) -> None:
        if name in trail:
            circles.append(" > ".join([*trail[trail.index(name) :], name]))
        elif name not in done:
            for other in sorted(graph[name]):
                walk(other, [*trail, name])
            done.add(name)

    for name in sorted(graph):
        walk(name, [])
    assert circles == []


@pytest.mark.parametrize("name", sorted(MODULES))
def test_only_one_room_knows_a_back_end(name: str) -> None:
    for line, target in imported(name, MODULES[name]):
        rooms = ONLY_IN.get(target.split(".")[0])
        fault = f"{name} line {line} imports {target}, which only {rooms} may"
        assert rooms is None or name.split(".")[0] in rooms, fault
