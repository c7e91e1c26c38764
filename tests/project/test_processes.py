"""Processes are started by few tests: a process costs what a hundred checks within this one do."""

from __future__ import annotations

import re
from pathlib import Path

TESTS = Path(__file__).resolve().parents[1]
STARTS = re.compile(
    r"\bsubprocess\b|\bmultiprocessing\b|\bos\.(?:fork|spawn\w+|popen|system|exec\w+)\(|\bPopen\("
)
MAY = {
    "browser/*": "they drive a browser",
    "benchmarks/*": "they measure, and are no tests",
    "cli/*": "streams, signals and encodings of the program as a process",
    "library/test_questions.py": "the type checker, as a caller of the library runs it",
    "mend/mend_killer.py": "it kills its own children",
    "mend/mend_helpers.py": "starts the program for the tests of kills",
    "mend/test_mend_write.py": "kills while files are written, two runs at once, a small disk",
    "project/test_code_style.py": "linter and type checker are programs of their own",
    "project/test_developers.py": "runs the tests of the data in a changed copy",
    "project/test_packaging.py": "builds the package, and runs what was built",
    "snapshot.py": "runs the code of another commit",
}


def starting() -> set[str]:
    """Return the files below tests/ that can start a process, but for this one."""
    paths = (path for path in TESTS.rglob("*.py") if path.name != Path(__file__).name)
    return {
        path.relative_to(TESTS).as_posix()
        for path in paths
        if STARTS.search(path.read_text(encoding="utf-8"))
    }


def test_only_these_start_processes() -> None:
    """Others call the program in this process (tests/studies/in_process.py, tests/fresh.py)."""
    others = {
        name for name in starting() if name not in MAY and f"{name.partition('/')[0]}/*" not in MAY
    }
    assert others == set()


def test_each_of_these_does() -> None:
    """A file that no longer starts any is taken off the list."""
    found = starting()
    for pattern in MAY:
        folder = pattern.removesuffix("*")
        assert any(name == pattern or name.startswith(folder) for name in found), pattern
