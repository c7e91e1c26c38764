"""The room `files` is the only one that opens files, lists folders and names them anew."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

ADVISOR = Path(__file__).resolve().parents[2] / "advisor"
OWN_DATA = {  # rules/, grammars/ and files of the package, never the user's
    "data/resources.py",
    "compile_data.py",
    "build_hook.py",
    "catalog/build.py",
    "judge/build.py",
    "report/html/layout.py",
}
OTHERS = {  # standard output is pointed at nothing
    "cli/streams.py": {"os.open"},
}
BARE = {"open"}
OF_OS = {"open", "scandir", "listdir", "walk", "fwalk", "replace", "rename", "unlink", "remove"}
OF_PATHS = {"read_text", "read_bytes", "write_text", "write_bytes", "iterdir", "rglob"}
MODULES = {"glob", "shutil", "tempfile", "io.open"}
WRITTEN = re.compile(
    rf"\b(?:{'|'.join(BARE)})\(|\bos\.(?:{'|'.join(OF_OS)})\(|\.(?:{'|'.join(OF_PATHS)})\("
    r"|\b(?:glob|shutil|tempfile|io)\b"
)


def doors(path: Path) -> Iterator[str]:
    """Yield the calls in a module that touch files, by name."""
    text = path.read_text(encoding="utf-8")
    if not WRITTEN.search(text):
        return  # what is not written there is not called
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            if node.func.id in BARE:
                yield node.func.id
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            owner = node.func.value.id if isinstance(node.func.value, ast.Name) else ""
            if owner == "os" and node.func.attr in OF_OS:
                yield f"os.{node.func.attr}"
            if node.func.attr in OF_PATHS or (owner == "glob" and node.func.attr == "glob"):
                yield node.func.attr
        elif isinstance(node, ast.Import):
            yield from (name.name for name in node.names if name.name in MODULES - {"glob"})


def test_only_one_room_touches_files() -> None:
    """House rule: open, scandir, glob and their like stand in advisor/files alone."""
    found = {}
    for path in sorted(ADVISOR.rglob("*.py")):
        name = path.relative_to(ADVISOR).as_posix()
        if name.startswith("files/") or name in OWN_DATA:
            continue
        left = set(doors(path)) - OTHERS.get(name, set())
        if left:
            found[name] = sorted(left)
    assert found == {}


def test_the_look_for_doors_finds_them() -> None:
    """The room itself is full of them, so that the test above can fail."""
    names = {door for path in (ADVISOR / "files").glob("*.py") for door in doors(path)}
    assert {"os.open", "os.scandir", "os.replace", "os.unlink"} <= names
