"""Tests of the page run beside the samples and share the pages they make."""

from __future__ import annotations

import pytest
from html_pages import SAMPLES, Made, rendered
from html_reading import Node


@pytest.fixture(autouse=True)
def in_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paths are shown as given: run beside the samples."""
    monkeypatch.chdir(SAMPLES)


@pytest.fixture
def page() -> Made:
    """Return the page of configs as text and as tree."""

    def made(*configs: str, drawn: bool = False, **asked: object) -> tuple[str, Node]:
        return rendered(configs, tuple(sorted(asked.items())), drawn)

    return made
