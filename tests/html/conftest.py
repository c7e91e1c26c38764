"""Pages of the samples, each made once; with pictures only where a test asks for them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from html_reading import Node, read

from advisor.asks import Asks
from advisor.cli.report_parts import gathered
from advisor.report import pictures
from advisor.report.html import render

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
Made = Callable[..., tuple[str, Node]]


@pytest.fixture(autouse=True)
def in_samples(monkeypatch: pytest.MonkeyPatch) -> None:
    """Paths are shown as given: run beside the samples."""
    monkeypatch.chdir(SAMPLES)


@pytest.fixture(scope="session")
def kept() -> dict[object, tuple[str, Node]]:
    """The pages made so far."""
    return {}


@pytest.fixture
def page(kept: dict[object, tuple[str, Node]], monkeypatch: pytest.MonkeyPatch) -> Made:
    """Return the page of configs as text and as tree."""

    def made(*configs: str, drawn: bool = False, **asked: object) -> tuple[str, Node]:
        key = (configs, drawn, tuple(sorted(asked.items())))
        if key not in kept:
            with monkeypatch.context() as patch:
                if not drawn:
                    patch.setattr(pictures, "available", lambda: False)
                text = render(gathered(configs, Asks(**asked)))  # type: ignore[arg-type]
            kept[key] = text, read(text)
        return kept[key]

    return made
