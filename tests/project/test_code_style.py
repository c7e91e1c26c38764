"""The code is clean to the linter, the formatter and the strict type checker."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]

CHECKS = {
    "linter": ["ruff", "check", "."],
    "formatter": ["ruff", "format", "--check", "."],
    "type checker": ["mypy"],
}


@pytest.mark.parametrize("check", CHECKS)
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
