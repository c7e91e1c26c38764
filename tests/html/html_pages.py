"""Pages of the samples, each made once; with pictures only where a test asks for them."""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path

import pytest
from html_reading import Node, read

from advisor.answers.asks import Asks
from advisor.cli.report_parts import gathered
from advisor.report import pictures
from advisor.report.html import PageParts, render

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
Made = Callable[..., tuple[str, Node]]


@functools.cache
def parts(configs: tuple[str, ...], asked: tuple[tuple[str, object], ...]) -> PageParts:
    """What a page shows, gathered once."""
    return gathered(configs, Asks(**dict(asked)))  # type: ignore[arg-type]


@functools.cache
def rendered(
    configs: tuple[str, ...], asked: tuple[tuple[str, object], ...], drawn: bool
) -> tuple[str, Node]:
    """A page, made once."""
    with pytest.MonkeyPatch.context() as patch:
        if not drawn:
            patch.setattr(pictures, "available", lambda: False)
        text = render(parts(configs, asked))
    return text, read(text)
