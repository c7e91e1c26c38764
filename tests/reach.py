"""Which definitions of the package a set of roots reaches, read from its text; nothing is imported.

A definition is a top-level function, class or assignment of a module. It reaches every definition
whose name stands in it, through imports, late ones included, and through lazy tables of names to
modules. What a module does when it is imported is reached as soon as something of it is. A class
is reached whole. It errs to the side of "reached": a name that is shadowed still counts.
"""

from __future__ import annotations

import ast
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

Name = tuple[str, str]  # module, definition; the definition "" is the module's own statements
DEFINES = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)


@dataclass
class Module:
    """One file: its definitions as syntax trees, what it imports, and its public names."""

    name: str
    tree: ast.Module
    definitions: dict[str, list[ast.stmt]] = field(default_factory=dict)
    rest: list[ast.stmt] = field(default_factory=list)
    imported: dict[str, Name] = field(default_factory=dict)


def parsed(name: str, text: str) -> Module:
    """One module read from its text."""
    module = Module(name, ast.parse(text))
    _sort(module)
    return module


def package(folder: Path) -> dict[str, Module]:
    """Every module below `folder`, the package, by its dotted name."""
    found = {}
    for file in sorted(folder.rglob("*.py")):
        parts = file.relative_to(folder.parent).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        found[name] = parsed(name, file.read_text(encoding="utf-8"))
    return found


def reached(modules: dict[str, Module], roots: Iterable[Name]) -> set[Name]:
    """Every definition that the roots reach."""
    seen: set[Name] = set()
    todo = list(roots)
    while todo:
        name = todo.pop()
        if name not in seen and name[0] in modules:
            seen.add(name)
            todo += [(name[0], ""), *_from(modules, name)]
    return seen


def _sort(module: Module) -> None:
    for node in ast.walk(module.tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            for item in node.names:
                module.imported[item.asname or item.name] = (node.module, item.name)
        elif isinstance(node, ast.Import):
            for item in node.names:
                if item.asname:
                    module.imported[item.asname] = (item.name, "")
    for statement in module.tree.body:
        names = _defined(statement)
        for name in names:
            module.definitions.setdefault(name, []).append(statement)
        if not names:
            module.rest.append(statement)


def _home(modules: dict[str, Module], name: Name) -> Name:
    """Where an imported name comes from: a face's own name, else the module of that name."""
    face, inner = modules.get(name[0]), f"{name[0]}.{name[1]}"
    if face and (name[1] in face.definitions or name[1] in face.imported):
        return name
    return (inner, "") if inner in modules else name


def _defined(statement: ast.stmt) -> list[str]:
    """The names a top-level statement defines; `__all__` exports, but uses nothing."""
    if isinstance(statement, DEFINES):
        return [statement.name]
    targets = (
        statement.targets
        if isinstance(statement, ast.Assign)
        else [statement.target]
        if isinstance(statement, ast.AnnAssign)
        else []
    )
    return [n.id for target in targets for n in ast.walk(target) if isinstance(n, ast.Name)]


def _from(modules: dict[str, Module], name: Name) -> Iterator[Name]:
    module = modules[name[0]]
    if name[1] and name[1] not in module.definitions:  # handed on by a face
        if name[1] in module.imported:
            yield module.imported[name[1]]
        return
    if name[1] == "__all__":
        return
    body = module.definitions[name[1]] if name[1] else module.rest
    for statement in body:
        for node in ast.walk(statement):
            yield from _named(modules, module, node)


def _named(modules: dict[str, Module], module: Module, node: ast.AST) -> Iterator[Name]:
    """The definitions that one node of the syntax names."""
    if isinstance(node, ast.Name):
        if node.id in module.definitions:
            yield module.name, node.id
        elif node.id in module.imported:
            yield _home(modules, module.imported[node.id])
    elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
        target = _home(modules, module.imported.get(node.value.id, ("", "")))
        if target[1] == "":
            yield _home(modules, (target[0], node.attr))
    elif isinstance(node, ast.ImportFrom) and node.module:
        yield node.module, ""
    elif isinstance(node, ast.Call):
        yield from _whole(modules, module, node)
    elif isinstance(node, ast.Constant) and isinstance(node.value, str):
        yield from _all_of(modules, node.value)
    elif isinstance(node, ast.Dict):
        yield from _table(modules, node)


def _whole(modules: dict[str, Module], module: Module, call: ast.Call) -> Iterator[Name]:
    """A module handed to a call, as `getattr(module, name)` does: all that it exports."""
    for part in call.args:
        if isinstance(part, ast.Name) and part.id in module.imported:
            home = _home(modules, module.imported[part.id])
            if home[1] == "":
                yield from _all_of(modules, home[0])


def _all_of(modules: dict[str, Module], name: str) -> Iterator[Name]:
    """All a module defines or hands on, where it is named by text or handed about whole."""
    if name in modules:
        face = modules[name]
        yield from ((name, inner) for inner in (*face.definitions, *face.imported))


def _table(modules: dict[str, Module], node: ast.Dict) -> Iterator[Name]:
    """A lazy face: names to the modules they are in."""
    for key, value in zip(node.keys, node.values, strict=True):
        named = isinstance(key, ast.Constant) and isinstance(value, ast.Constant)
        if named and isinstance(value.value, str) and value.value in modules:
            yield value.value, str(key.value)
