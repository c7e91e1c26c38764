"""A browser for the tests of this folder; without one they are skipped, and say why."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browsing import QUIET, find_axe, find_browser

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """Start the browser that is installed; nothing is fetched for it."""
    driver = pytest.importorskip(
        "playwright.sync_api", reason="no browser driver; pip install 'feedwright[browser]'"
    )
    program = find_browser()
    if program is None:
        pytest.skip("no browser; install chromium or name one in FEEDWRIGHT_CHROMIUM")
    with driver.sync_playwright() as started:
        running = started.chromium.launch(executable_path=program, args=list(QUIET))
        yield running
        running.close()


@pytest.fixture(scope="module")
def axe() -> Path:
    """Return the file of accessibility rules."""
    path = find_axe()
    if path is None:
        pytest.skip("no accessibility rules; npm install --prefix .tools axe-core@4, "
                    "or name axe.min.js in FEEDWRIGHT_AXE")  # fmt: skip
    return path
