"""Writes in two lines what weighed tests made of a capacity that is shown beside them."""

from __future__ import annotations

from advisor.base import Weighed
from advisor.report.numbers import figure, share
from advisor.report.page import Page

__all__ = ["weighed_words", "write_weighed"]


def write_weighed(page: Page, weighed: Weighed | None) -> None:
    """Write how much narrower the range is, or that the test contradicts; nothing without one."""
    if weighed is not None:
        words, style = weighed_words(weighed)
        page.entry("weighed", words, label_style="strong", style=style)


def weighed_words(weighed: Weighed) -> tuple[str, str]:
    """Return what tests made of the capacity in words, and the style of the sentence."""
    files = ", ".join(weighed.names or weighed.files)
    if weighed.contradiction is not None:
        words = "it contradicts the machine as stated, so nothing but a limit is taken from it"
        return f"{files}: {words}", "warning"
    if weighed.narrower is None or weighed.before is None or weighed.narrower <= 0.0:
        return f"{files}: it makes the range no narrower", ""
    before = f"{figure(weighed.before.low, 2)}-{figure(weighed.before.high, 2)}"
    return f"{files}: the range is {share(weighed.narrower)} narrower (was {before} mm3/s)", ""
