"""The program run in this process, and a machine of our own in a folder of its own."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from file_runs import Run, Runner

from advisor.cli import main

SAMPLES = Path(__file__).resolve().parents[2] / "samples"


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str]) -> Runner:
    """Run the program; stdout, stderr and exit code apart."""

    def made(*arguments: object) -> Run:
        code = main([str(argument) for argument in arguments])
        out, err = capsys.readouterr()
        return Run(int(code), out, err)

    return made


@pytest.fixture
def machine(tmp_path: Path) -> Path:
    """The invented machine that asks too much, with sheet, profile and print."""
    folder = tmp_path / "machine"
    shutil.copytree(SAMPLES / "asks-too-much", folder)
    return folder
