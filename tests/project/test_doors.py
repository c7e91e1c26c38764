"""Rooms have doors: what others may use stands in a room's face, and no import goes in a circle."""

from __future__ import annotations

import ast
import functools
import importlib
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "advisor"


def _module(path: Path) -> str:
    dotted = ".".join(path.relative_to(ROOT).with_suffix("").parts)
    return dotted.removesuffix(".__init__")


@functools.cache
def _sources() -> dict[str, Path]:
    """Return every module of the package by its name."""
    return {
        _module(path): path for path in sorted(PACKAGE.rglob("*.py")) if "_data" not in path.parts
    }


def _room(module: str) -> str | None:
    """Return the room of a module; None for what lies beside the rooms."""
    _, _, rest = module.partition(".")
    first = rest.partition(".")[0]
    return first if first and (PACKAGE / first).is_dir() else None


def _statements(tree: ast.AST) -> Iterator[ast.AST]:
    """Yield all statements, however deep: an import stands within no expression."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.stmt | ast.excepthandler | ast.match_case):
            yield node
            yield from _statements(node)


@functools.cache
def _imports() -> list[tuple[str, str, str, int]]:
    """Return (importer, module, name, line) of each import, late and for types alike."""
    found = []
    for module, path in _sources().items():
        for node in _statements(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("advisor"):
                home = str(node.module)
                found += [(module, home, alias.name, node.lineno) for alias in node.names]
            elif isinstance(node, ast.Import):
                found += [
                    (module, alias.name, "", node.lineno)
                    for alias in node.names
                    if alias.name.startswith("advisor.")
                ]
    return found


def _is_face(module: str) -> bool:
    return module.count(".") == 1 and _sources()[module].name == "__init__.py"


def _past_the_door() -> Iterator[str]:
    for importer, module, name, line in _imports():
        if module.count(".") < 1:
            continue
        room = _room(module)
        if room is None or (importer.count(".") and room == _room(importer)):
            continue
        if module == "advisor.base.face" and _is_face(importer):
            continue
        if module.count(".") > 1:
            yield f"{importer}:{line} imports {module}, past the door of advisor.{room}"
        elif name not in getattr(importlib.import_module(module), "__all__", ()):
            yield f"{importer}:{line} takes {name}, which advisor.{room} does not offer"


def test_only_doors_are_used() -> None:
    """What a room does not offer in its face, no other room imports."""
    assert list(_past_the_door()) == []


def test_doors_say_the_same_to_the_type_checker() -> None:
    """Each name of a face has one home, and the type checker reads the same one."""
    wrong = []
    for module, path in _sources().items():
        face = importlib.import_module(module) if _is_face(module) else None
        if face is None or "base.face" not in path.read_text(encoding="utf-8"):
            continue
        typed = {
            name: home
            for importer, home, name, _ in _imports()
            if importer == module and home != "advisor.base.face"
        }
        for name in face.__all__:
            value = getattr(face, name)
            if name not in typed and f"{module}.{name}" not in _sources():
                wrong.append(f"{module}: {name} is unknown to the type checker")
            elif name in typed and getattr(importlib.import_module(typed[name]), name) is not value:
                wrong.append(f"{module}: {name} has another home for the type checker")
        wrong += [f"{module}: {name} is not offered" for name in set(typed) - set(face.__all__)]
    assert wrong == []


def test_no_door_offers_a_name_that_is_also_a_module() -> None:
    """Else whoever imports the module first has the name of the face stand for it."""
    doubled = [
        f"{face}.{name}"
        for face, home, name, _ in _imports()
        if _is_face(face) and home.startswith(f"{face}.") and f"{face}.{name}" in _sources()
        if name in getattr(importlib.import_module(face), "__all__", ())
    ]
    assert doubled == []


def test_no_door_offers_what_nobody_takes() -> None:
    """A face does not grow by itself: each name of it is used in another room or in a test."""
    taken = {(module, name) for _, module, name, _ in _imports()}
    idle = {
        (module, name)
        for module in _sources()
        if _is_face(module)
        for name in getattr(importlib.import_module(module), "__all__", ())
        if (module, name) not in taken and name != "ARTIFACTS"
    }
    for path in (ROOT / "tests").rglob("*.py"):
        text = path.read_text(encoding="utf-8")
        if not any(name in text for _, name in idle):
            continue
        for node in _statements(ast.parse(text)):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("advisor"):
                idle -= {(str(node.module), alias.name) for alias in node.names}
    assert sorted(idle) == []


def _circles(edges: dict[str, set[str]]) -> list[list[str]]:
    """Return the circles of a graph: sets of nodes that reach each other (Tarjan 1972)."""
    order: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found: list[list[str]] = []

    def visit(node: str) -> None:
        order[node] = low[node] = len(order)
        stack.append(node)
        for other in edges.get(node, ()):
            if other not in order:
                visit(other)
                low[node] = min(low[node], low[other])
            elif other in stack:
                low[node] = min(low[node], order[other])
        if low[node] == order[node]:
            part = []
            while not part or part[-1] != node:
                part.append(stack.pop())
            if len(part) > 1:
                found.append(sorted(part))

    for node in edges:
        if node not in order:
            visit(node)
    return found


def test_no_circle_between_modules() -> None:
    """Not even behind a late import or one for types alone; a face's own rooms aside."""
    edges: dict[str, set[str]] = {}
    for importer, module, name, _ in _imports():
        target = f"{module}.{name}" if f"{module}.{name}" in _sources() else module
        if target != importer and not target.startswith(f"{importer}."):
            edges.setdefault(importer, set()).add(target)
    assert _circles(edges) == []


def test_a_circle_would_be_found() -> None:
    """The search finds a circle of three and none in a chain."""
    assert _circles({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a"}}) == [["a", "b", "c"]]
    assert _circles({"a": {"b"}, "b": {"c"}}) == []
