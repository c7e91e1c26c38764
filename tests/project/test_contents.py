"""What Feedwright reads of its own is listed: nothing is left out, or taken in, without a word."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def copy(tmp_path: Path) -> Path:
    """A checkout without compiled data."""
    ignore = shutil.ignore_patterns("__pycache__", "_data")
    for name in ("advisor", "rules", "grammars"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=ignore)
    return tmp_path


def lint(root: Path) -> tuple[int, str]:
    kept = {name: os.environ[name] for name in ("PATH", "SYSTEMROOT") if name in os.environ}
    done = subprocess.run(
        [sys.executable, "-m", "advisor", "lint", str(ROOT / "samples/healthy/printer.cfg")],
        cwd=root, env=kept | {"PYTHONPATH": str(root)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    return done.returncode, done.stderr


@pytest.mark.parametrize(
    "name", ["rules/grip.yaml", "rules/dialects/macros.yaml", "grammars/expression.lark",
             "rules/contents.txt"],
)  # fmt: skip
def test_a_file_that_is_gone_is_an_error(copy: Path, name: str) -> None:
    """One sentence that names it, and no report by fewer rules."""
    (copy / name).unlink()
    code, told = lint(copy)

    assert code == 3
    assert f"{name} is missing" in told
    assert told.count("\n") == 1
    assert "INTERNAL" not in told


def test_a_file_that_is_not_listed_is_an_error(copy: Path) -> None:
    """A copy left by an editor does not become rules."""
    shutil.copy(copy / "rules/grip.yaml", copy / "rules/grip (copy).yaml")
    code, told = lint(copy)

    assert code == 3
    assert "rules/grip (copy).yaml is not listed in rules/contents.txt" in told


def test_a_line_taken_out_with_its_file_is_no_error(copy: Path) -> None:
    """Whoever does without some rules says so."""
    (copy / "rules/weighed.yaml").unlink()
    contents = copy / "rules/contents.txt"
    contents.write_text(contents.read_text().replace("rules/weighed.yaml\n", ""))
    assert lint(copy) == (0, "")
