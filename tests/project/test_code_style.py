"""The code is clean to the linter, the formatter and the strict type checker."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from tiers import only_long

ROOT = Path(__file__).resolve().parents[2]
TYPES = ("types() { exec .venv/bin/mypy; }", "beside types & types=$!", 'wait "$types" || {')
TABLES = "FEEDWRIGHT_WIDE=rest .venv/bin/python -m pytest -n auto -q -m wide --ignore tests/studies"
CHECKS = {
    "linter": ["ruff", "check", "."],
    "formatter": ["ruff", "format", "--check", "."],
    "type checker": ["mypy"],
}


@pytest.mark.parametrize(
    "check", ["linter", "formatter", pytest.param("type checker", marks=only_long)]
)
def test_code_is_clean(check: str) -> None:
    """The tool has nothing to say about the whole tree."""
    done = subprocess.run(
        [sys.executable, "-m", *CHECKS[check]],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 0, done.stdout + done.stderr


def test_what_the_quick_tests_leave_out_is_run_for_every_change() -> None:
    """The type checker and the broad tables are steps of the checks of the whole, and end them."""
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")

    assert all(f"\n{line}" in script for line in TYPES)
    assert f"\n{TABLES} || fail " in script
