"""The page: wrapping by columns, labels, colour that is only colour."""

from __future__ import annotations

import re
import textwrap

import pytest
from hypothesis import given, strategies as st

from advisor.report.clean import cell_width
from advisor.report.look import Look
from advisor.report.page import STYLES, Page, wrapped

ESCAPE = re.compile(r"\x1b\[[0-9;]*m")
WORDS = st.lists(st.text("abcdef-.:/", min_size=1, max_size=12), max_size=30).map(" ".join)


@given(WORDS, st.integers(12, 60))
def test_wrapping_agrees_with_the_standard_library(text: str, width: int) -> None:
    """For ASCII words no longer than the width, textwrap is the judge."""
    judge = textwrap.wrap(text, width, break_on_hyphens=False, break_long_words=False)
    assert wrapped(text, width) == judge


def test_a_long_path_stays_whole() -> None:
    """A path is not cut: it would not be found again."""
    path = "/a/very/long/path/" + "x" * 80
    assert wrapped(f"see {path} there", 40) == ["see", path, "there"]


def test_wide_characters_are_counted_by_columns() -> None:
    """Sixteen wide characters take 32 columns."""
    lines = wrapped(" ".join(["\u30ce\u30ba\u30eb\u30ce"] * 8), 40)
    assert max(cell_width(line) for line in lines) <= 40
    assert len(lines) == 2


def test_colour_changes_no_character() -> None:
    """The page without its escapes is the page without colour; rich writes the colours."""
    pages = [Page(Look(colours=colours)) for colours in (None, "256", "standard", "truecolor")]
    for page in pages:
        page.heading("Motor [extruder] of [/etc/x]")
        page.entry("error", "value [red]0.9[/red] at \x1b[2J :warning:", label_style="error")
        page.row(("grip", "neck"), ("  9.7", ""))
    plain, *coloured = [page.render() for page in pages]

    assert "[red]0.9[/red] at \\x1b[2J :warning:" in plain
    for text in coloured:
        assert ESCAPE.search(text)
        assert ESCAPE.sub("", text) == plain


def luminance(code: int) -> float:
    """Relative luminance of an xterm 256-colour cube entry (WCAG 2.1 definition)."""
    levels = (0, 95, 135, 175, 215, 255)
    index = code - 16
    channels = [levels[index // 36], levels[index // 6 % 6], levels[index % 6]]
    linear = [
        c / 255 / 12.92 if c / 255 <= 0.03928 else ((c / 255 + 0.055) / 1.055) ** 2.4
        for c in channels
    ]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("style", [style for style in STYLES.values() if "color" in style])
def test_colours_can_be_read_on_black_and_on_white(style: str) -> None:
    """At least 3.9 : 1 on both grounds; 4.58 : 1 is the most that both can have at once.

    WCAG 2.1, contrast ratio; 3 : 1 is its least for large or bold text.
    """
    light = luminance(int(re.search(r"color\((\d+)\)", style)[1]))  # type: ignore[index]

    assert (light + 0.05) / 0.05 >= 3.9
    assert 1.05 / (light + 0.05) >= 3.9
