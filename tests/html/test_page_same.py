"""Nothing of this machine stands on a page; that it is the same each time is tried in tests/cli."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from html_pages import SAMPLES, Made

ROOT = SAMPLES.parent


def test_nothing_of_this_machine_stands_on_the_page(page: Made) -> None:
    """No folder but those that were typed."""
    pytest.importorskip("matplotlib")
    text, _ = page("healthy/printer.cfg", drawn=True, weighed=("healthy/flow-test.csv",))
    for own in {str(SAMPLES), str(ROOT), str(Path.home()), str(Path(sys.executable).parent)}:
        assert own == "/" or own not in text
