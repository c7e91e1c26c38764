"""The tiers of tests, and what each of them tries.

Quick is what a bare ``pytest`` runs. With FEEDWRIGHT_WIDE=1 broad tables are tried whole, of which
quick tries the ends and some between; `.ci/run` does that for the tests marked ``wide``. With
FEEDWRIGHT_LONG=1 many more machines, texts and kills are made up. What is claimed is the same.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TypeVar

import pytest

__all__ = ["LONG", "WIDE", "examples", "only_long", "only_wide", "spread", "wide"]

LONG = os.environ.get("FEEDWRIGHT_LONG") == "1"
WIDE = LONG or os.environ.get("FEEDWRIGHT_WIDE") == "1"
wide = pytest.mark.wide
only_wide = pytest.mark.skipif(not WIDE, reason="wide: set FEEDWRIGHT_WIDE=1")
only_long = pytest.mark.skipif(not LONG, reason="long: set FEEDWRIGHT_LONG=1")
Item = TypeVar("Item")


def spread(cases: Sequence[Item], count: int) -> list[Item]:
    """Return `count` of the cases, the ends and evenly between; all of them in a wide run.

    For the tests marked `wide`.
    """
    if WIDE or count >= len(cases):
        return list(cases)
    return [cases[round(at * (len(cases) - 1) / max(1, count - 1))] for at in range(count)]


def examples(quick: int, wide: int, long: int) -> int:
    """Return how many made-up cases are tried in each tier."""
    return long if LONG else wide if WIDE else quick
