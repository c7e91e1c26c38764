"""The tiers of tests, and what each of them tries.

Quick is what a bare ``pytest`` runs. With FEEDWRIGHT_WIDE=1 broad tables are tried whole, of which
quick tries the ends and some between; with FEEDWRIGHT_WIDE=rest only what quick left of them (of
the dearest tables a part of that), for `.ci/run`, which has just run quick. Both are for the tests
marked ``wide``. With FEEDWRIGHT_LONG=1 many more machines, texts and kills are made up. What is
claimed is the same.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from typing import TypeVar

import pytest

__all__ = ["LONG", "WIDE", "examples", "only_long", "only_wide", "spread", "wide"]

LONG = os.environ.get("FEEDWRIGHT_LONG") == "1"
REST = not LONG and os.environ.get("FEEDWRIGHT_WIDE") == "rest"
WIDE = LONG or REST or os.environ.get("FEEDWRIGHT_WIDE") == "1"
wide = pytest.mark.wide
only_wide = pytest.mark.skipif(not WIDE, reason="wide: set FEEDWRIGHT_WIDE=1")
only_long = pytest.mark.skipif(not LONG, reason="long: set FEEDWRIGHT_LONG=1")
Item = TypeVar("Item")


def spread(cases: Sequence[Item], count: int, rest: int | None = None) -> list[Item]:
    """Return `count` of the cases, the ends and evenly between; all of them in a wide run.

    Where the rest is asked for it is the others, or the last where there are none. For the tests
    marked `wide`, but for those that only a wide run has: they take the whole table. Where each
    case says the same and is dear, `rest` of the others are enough for that: the whole table is
    then for FEEDWRIGHT_WIDE=1, by hand. A count of 0 is for a test that only a wide run has.
    """
    if (WIDE and not REST) or (not REST and count >= len(cases)):
        return list(cases)
    quick = _even(len(cases), count)
    if not REST:
        return [cases[at] for at in sorted(quick)]
    others = [case for at, case in enumerate(cases) if at not in quick] or list(cases[-1:])
    chosen = _even(len(others), len(others) if rest is None else rest)
    return [case for at, case in enumerate(others) if at in chosen]


def _even(many: int, count: int) -> set[int]:
    """Return `count` places of so many: the ends, and evenly between."""
    return {min(many - 1, round(at * (many - 1) / max(1, count - 1))) for at in range(count)}


def examples(quick: int, wide: int, long: int) -> int:
    """Return how many made-up cases are tried in each tier."""
    return long if LONG else wide if WIDE else quick
