"""Imports point down only; the contracts stand in pyproject.toml."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
HEAVY = ("numpy", "lark", "rich", "ruamel.yaml")


def _contracts(root: Path) -> subprocess.CompletedProcess[str]:
    script = "import sys; from importlinter.cli import lint_imports_command as run; sys.exit(run())"
    return subprocess.run(
        [sys.executable, "-c", script, "--no-cache"],
        cwd=root,
        env={**os.environ, "PYTHONPATH": str(root), "PYTHONUTF8": "1"},
        capture_output=True,
        text=True,
        check=False,
    )


def test_contracts_hold() -> None:
    """Every module has its layer, and no import points up."""
    done = _contracts(ROOT)

    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    ("module", "line"),
    [
        ("physics/drive.py", "from advisor import catalog"),
        ("units.py", "from advisor import model"),
        ("lint/__init__.py", "import rich"),
    ],
)
def test_contracts_catch_a_planted_import(tmp_path: Path, module: str, line: str) -> None:
    """A sibling, an upper layer and a forbidden package are each found."""
    shutil.copytree(
        ROOT / "advisor",
        tmp_path / "advisor",
        ignore=shutil.ignore_patterns("__pycache__", "_data"),
    )
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    planted = tmp_path / "advisor" / module
    planted.write_text(planted.read_text(encoding="utf-8") + f"\n{line}\n", encoding="utf-8")

    done = _contracts(tmp_path)

    assert done.returncode == 1
    assert "BROKEN" in done.stdout


@pytest.mark.parametrize("module", ["advisor", "advisor.__main__", "advisor.cli"])
def test_start_loads_nothing_heavy(module: str) -> None:
    """Importing the package or its commands imports none of the large packages."""
    script = f"import sys, {module}; print(*sorted(set({HEAVY!r}) & set(sys.modules)))"

    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True
    )

    assert done.stdout.strip() == ""
