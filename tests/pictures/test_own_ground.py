"""Drawing keeps to itself: no traces, no library needed; its bytes are compared in tests/cli."""

from __future__ import annotations

import importlib
import logging

import matplotlib as mpl
from fresh import wanted_by
from picture_reports import healthy

from advisor.report import pictures
from advisor.report.pictures import draw_force


def test_it_leaves_no_trace() -> None:
    """Settings and logging of the plotting library are afterwards as they were."""
    with mpl.rc_context({"font.size": 5.5, "lines.linewidth": 7.0}):
        logger = logging.getLogger("matplotlib")
        before = dict(mpl.rcParams), logger.level
        draw_force(healthy()[0])
        after = dict(mpl.rcParams), logger.level

    assert before == after


def test_the_library_is_fetched_only_to_draw() -> None:
    """Importing the package, as every page does, does not load the plotting library."""
    with wanted_by("matplotlib") as wanted:
        importlib.import_module("advisor.report.pictures")

    assert wanted == set()


def test_without_the_library_there_are_no_pictures() -> None:
    """Where it is not installed, or broken, the page is told so instead of failing."""
    assert pictures.available()
    with wanted_by("matplotlib"):
        assert not importlib.import_module("advisor.report.pictures").available()
