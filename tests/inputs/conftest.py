"""Helpers of the intake's tests: made-up configs, read as a run reads them."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from advisor.config import read_tree_from_bytes
from advisor.inputs.dialect import load_dialect
from advisor.inputs.extruders import ConfigFacts, read_config

Read = Callable[..., ConfigFacts]


def _missing(path: str) -> bytes:
    raise FileNotFoundError(path)


@pytest.fixture
def read() -> Read:
    """Return a function that reads a config text, without any file beside it."""

    def run(text: str, **files: str) -> ConfigFacts:
        def open_file(path: str) -> bytes:
            return files[path].encode() if path in files else _missing(path)

        tree = read_tree_from_bytes(
            text.encode(), "made-up.cfg", open_file=open_file, list_glob=lambda pattern: []
        )
        return read_config(tree, load_dialect())

    return run
