"""Measures the house: how large its rooms are, what goes in circles or past a door, what is long.

    tests/studies/house.py [TREE]     a table of the package in a checkout; by default this one
    tests/studies/house.py --list     with the names behind the figures

A function is as long as its body without the docstring. A module that one other imports alone is
told with its lines; faces and commands, which are found by name, are left out.
"""

from __future__ import annotations

import argparse
import ast
import re
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
LONGEST = 25
SMALL = 60
BANNED = ("Taken", "Given", "Said", "Sifted", "Picked", "Seen")
Function = ast.FunctionDef | ast.AsyncFunctionDef


class House:
    """The modules of a package, by name: their trees, lines and imports."""

    def __init__(self, tree: Path) -> None:
        self.trees: dict[str, ast.Module] = {}
        self.lines: dict[str, int] = {}
        self.faces: set[str] = set()
        for path in sorted((tree / "advisor").rglob("*.py")):
            if "_data" in path.parts:
                continue
            dotted = ".".join(path.relative_to(tree).with_suffix("").parts)
            name, text = dotted.removesuffix(".__init__"), path.read_text(encoding="utf-8")
            self.trees[name], self.lines[name] = ast.parse(text), text.count("\n")
            if path.name == "__init__.py":
                self.faces.add(name)
        self.imports = {name: set(self._imported(name)) for name in self.trees}

    def _imported(self, name: str) -> Iterator[str]:
        for node in ast.walk(self.trees[name]):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("advisor"):
                for alias in node.names:
                    whole = f"{node.module}.{alias.name}"
                    yield whole if whole in self.trees else str(node.module)
            elif isinstance(node, ast.Import):
                yield from (it.name for it in node.names if it.name in self.trees)

    def room(self, name: str) -> str:
        """The room of a module; what lies beside the rooms is a room of its own."""
        return ".".join(name.split(".")[:2])

    def deep(self) -> list[str]:
        """Imports of another room past its face; a module that a face offers whole is none."""
        return sorted(
            {
                f"{name} -> {node.module}"
                for name, tree in self.trees.items()
                for node in ast.walk(tree)
                if isinstance(node, ast.ImportFrom) and node.module in self.trees
                if node.module.count(".") > 1 and node.module != "advisor.base.face"
                if self.room(node.module) != self.room(name)
            }
        )

    def circles(self) -> list[str]:
        """Modules that reach themselves; a face's imports of its own rooms aside."""
        edges = {
            name: {it for it in others if it != name and not it.startswith(f"{name}.")}
            for name, others in self.imports.items()
        }
        return sorted(name for name in edges if name in _reached(edges, name))

    def functions(self) -> Iterator[tuple[str, Function]]:
        """All functions and methods, with their module."""
        for name, tree in self.trees.items():
            for node in ast.walk(tree):
                if isinstance(node, Function):
                    yield name, node

    def long(self) -> list[str]:
        """Functions of more than so many lines."""
        return sorted(
            f"{length:4d} {name}.{node.name}"
            for name, node in self.functions()
            if (length := _length(node)) > LONGEST
        )

    def loose(self) -> Counter[str]:
        """Signatures with `Any`, by room."""
        return Counter(self.room(name) for name, node in self.functions() if _is_loose(node))

    def stand_ins(self) -> list[str]:
        """Names that stand for `Any`, whole or in part: what a signature with them does not say."""
        return sorted(
            f"{name}: {_target(node)}"
            for name, tree in self.trees.items()
            for node in tree.body
            if isinstance(node, ast.Assign | ast.AnnAssign) and _is_alias(node)
        )

    def types(self) -> dict[str, list[str]]:
        """The modules of each class, by its name."""
        found = defaultdict(list)
        for name, tree in self.trees.items():
            for node in ast.walk(tree):
                if isinstance(node, ast.ClassDef):
                    found[node.name].append(name)
        return found

    def twice(self) -> list[str]:
        """Names of classes that stand in two modules."""
        return [f"{name}: {', '.join(at)}" for name, at in self.types().items() if len(at) > 1]

    def banned(self) -> list[str]:
        """Names of types that do not say what they hold."""
        names = {word for bad in BANNED for word in (bad, f"_{bad}")}
        return [f"{name}: {', '.join(at)}" for name, at in self.types().items() if name in names]

    def alone(self) -> list[str]:
        """Small modules that one sibling alone imports."""
        users = defaultdict(set)
        for name, others in self.imports.items():
            for other in others:
                users[other].add(name)
        return [
            f"{self.lines[name]:4d} {name} <- {next(iter(by))}"
            for name, by in sorted(users.items())
            if len(by - self.faces) == 1 and len(by) == 1
            if self.lines[name] < SMALL and name not in self.faces
        ]


def _reached(edges: dict[str, set[str]], start: str) -> set[str]:
    """What can be reached from a node, in one step at least."""
    reached: set[str] = set()
    waiting = list(edges[start])
    while waiting:
        node = waiting.pop()
        if node not in reached:
            reached.add(node)
            waiting += edges.get(node, ())
    return reached


def _length(node: Function) -> int:
    body = node.body
    if isinstance(body[0], ast.Expr) and isinstance(body[0].value, ast.Constant):
        body = body[1:]
    return int(node.end_lineno or 0) - body[0].lineno + 1 if body else 0


def _is_loose(node: Function) -> bool:
    every = (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs)
    more = (node.args.vararg, node.args.kwarg)
    types = [it.annotation for it in (*every, *more) if it is not None] + [node.returns]
    names = (it for one in types if one is not None for it in ast.walk(one))
    return any(isinstance(it, ast.Name) and it.id == "Any" for it in names)


def _target(node: ast.Assign | ast.AnnAssign) -> str:
    return ast.unparse(node.target if isinstance(node, ast.AnnAssign) else node.targets[0])


def _is_alias(node: ast.Assign | ast.AnnAssign) -> bool:
    """Whether a name stands for a type that holds `Any`; no call is a type."""
    if node.value is None or any(isinstance(it, ast.Call) for it in ast.walk(node.value)):
        return False
    return bool(re.search(r"\bAny\b", ast.unparse(node.value)))


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="Measures the house.")
    parser.add_argument("tree", nargs="?", type=Path, default=ROOT)
    parser.add_argument("--list", action="store_true", help="show the names behind the figures")
    given = parser.parse_args()
    house = House(given.tree)
    loose = house.loose()
    rows: dict[str, list[str]] = {
        "imports past a door": house.deep(),
        "modules in a circle": house.circles(),
        f"functions of over {LONGEST} lines": house.long(),
        "class names that occur twice": house.twice(),
        "types that do not say what they hold": house.banned(),
        "names that stand for Any": house.stand_ins(),
        f"modules under {SMALL} lines that one sibling alone imports": house.alone(),
    }
    print(f"modules {len(house.trees)}, lines {sum(house.lines.values())}, "
          f"rooms {len({house.room(it) for it in house.faces if it.count('.')})}")  # fmt: skip
    for title, names in rows.items():
        print(f"{title}: {len(names)}", *(names if given.list else ()), sep="\n    ")
    by_room = ", ".join(f"{room.rpartition('.')[2]} {n}" for room, n in sorted(loose.items()))
    print(f"signatures with Any: {sum(loose.values())} ({by_room})")


if __name__ == "__main__":
    main()
