"""A machine in a folder of its own, for the tests of mending."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
for folder in (HERE.parent, HERE):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))

from mend_helpers import Machine  # noqa: E402 - the path comes first


@pytest.fixture
def machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Machine:
    """A machine whose folder is the present one."""
    folder = tmp_path / "machine"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return Machine(folder)
