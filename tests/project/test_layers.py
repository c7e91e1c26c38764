"""Imports point down only; the contracts stand in pyproject.toml."""

from __future__ import annotations

import contextlib
import importlib
import shutil
from pathlib import Path

import pytest
from fresh import imported_anew, wanted_by

ROOT = Path(__file__).resolve().parents[2]
HEAVY = ("numpy", "lark", "rich", "ruamel")
NO = "is not allowed to import"
PLANTED = {
    "physics/drive.py": ("from advisor import catalog", f"advisor.physics {NO} advisor.catalog"),
    "files/plain.py": ("from advisor import config", f"advisor.files {NO} advisor.config"),
    "answers/__init__.py": ("import rich", f"advisor.answers {NO} rich"),
}  # one that points to a sibling, one that points up, one that is forbidden


def _contracts(root: Path) -> int:
    """Hold the contracts of a tree against it; what is said goes to standard output."""
    from importlinter.cli import lint_imports_command

    with imported_anew(root), contextlib.chdir(root), pytest.raises(SystemExit) as ended:
        lint_imports_command.main(["--no-cache"], standalone_mode=False)
    return int(ended.value.code or 0)


def test_contracts_hold(capsys: pytest.CaptureFixture[str]) -> None:
    """Every module has its layer, and no import points up."""
    assert _contracts(ROOT) == 0, capsys.readouterr().out


def test_contracts_catch_each_planted_import(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A sibling, an upper layer and a forbidden package are each found, and named."""
    left_out = shutil.ignore_patterns("__pycache__", "_data")
    shutil.copytree(ROOT / "advisor", tmp_path / "advisor", ignore=left_out)
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    for module, (line, _) in PLANTED.items():
        planted = tmp_path / "advisor" / module
        planted.write_text(f"{planted.read_text(encoding='utf-8')}\n{line}\n", encoding="utf-8")

    assert _contracts(tmp_path) == 1
    told = " ".join(capsys.readouterr().out.split())
    assert "BROKEN" in told
    for _, words in PLANTED.values():
        assert words in told, told


@pytest.mark.parametrize("module", ["advisor", "advisor.__main__", "advisor.cli"])
def test_start_loads_nothing_heavy(module: str) -> None:
    """Importing the package or its commands imports none of the large packages."""
    with wanted_by(*HEAVY) as wanted:
        importlib.import_module(module)
    assert wanted == set()


def test_what_is_loaded_is_seen() -> None:
    """The watch of the test above notes a large package where one is asked for."""
    with wanted_by(*HEAVY) as wanted, pytest.raises(ModuleNotFoundError, match="is let in"):
        importlib.import_module("advisor.physics.drive")
    assert wanted == {"numpy"}
