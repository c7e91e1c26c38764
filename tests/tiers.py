"""The tiers of tests: quick as a rule; with FEEDWRIGHT_LONG=1 the same with many more cases.

What is heavy and broad belongs to the long tier, with a smoke in the quick one that shares its
code.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TypeVar

import pytest

__all__ = ["LONG", "only_long", "spread"]

LONG = os.environ.get("FEEDWRIGHT_LONG") == "1"
only_long = pytest.mark.skipif(not LONG, reason="long: set FEEDWRIGHT_LONG=1")
Item = TypeVar("Item")


def spread(cases: Sequence[Item], count: int) -> list[Item]:
    """Return all cases of a long run, else `count` of them: the ends and evenly between."""
    if LONG or count >= len(cases):
        return list(cases)
    return [cases[round(at * (len(cases) - 1) / max(1, count - 1))] for at in range(count)]
