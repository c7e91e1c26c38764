"""The machine of the fact tests, and the samples worked out."""

from __future__ import annotations

import functools
from collections.abc import Callable
from pathlib import Path

import pytest

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.lint import check_config
from tests.facts.conftest import catalog, machine, nominal, state

__all__ = ["catalog", "checked", "machine", "nominal", "state"]

SAMPLES = Path(__file__).resolve().parents[2] / "samples"


@functools.cache
def _checked(name: str, asked: str | None, weighed: tuple[str, ...]) -> CheckedConfig:
    asks = Asks(asked=asked, weighed=tuple(str(SAMPLES / one) for one in weighed))
    return check_config(str(SAMPLES / name), asks)


@pytest.fixture
def checked() -> Callable[..., CheckedConfig]:
    """Work a sample out, once."""

    def made(name: str, asked: str | None = None, weighed: tuple[str, ...] = ()) -> CheckedConfig:
        return _checked(f"{name}/printer.cfg", asked, weighed)

    return made
