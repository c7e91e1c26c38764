"""Lets the tests of this folder import its helpers, and run a command at 80 columns."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))

from ran import Ran, Run

from advisor.cli import main


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run the program in this process; stdout, stderr and exit code apart."""
    monkeypatch.setenv("COLUMNS", "80")

    def made(*arguments: str) -> Ran:
        code = main(list(arguments))
        out, err = capsys.readouterr()
        return Ran(int(code), out, err)

    return made
