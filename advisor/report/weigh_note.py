"""Writes in two lines what weighed tests made of a capacity that is shown beside them."""

from __future__ import annotations

from advisor.model import Weighed
from advisor.report.numbers import figure, share
from advisor.report.page import Page

__all__ = ["write_weighed"]


def write_weighed(page: Page, weighed: Weighed | None) -> None:
    """Write how much narrower the band is, or that the test was not used; nothing without one."""
    if weighed is None:
        return
    files = ", ".join(weighed.files)
    if weighed.contradiction is not None:
        words = f"{files} was not used, it contradicts the machine as stated"
        page.entry("weighed", words, label_style="strong", style="warning")
        return
    if weighed.narrower is None or weighed.before is None or weighed.narrower <= 0.0:
        page.entry("weighed", f"{files}: it makes the band no narrower", label_style="strong")
        return
    before = f"{figure(weighed.before.low, 2)} to {figure(weighed.before.high, 2)}"
    words = f"by {files}: the band is {share(weighed.narrower)} narrower (it was {before} mm3/s)"
    page.entry("weighed", words, label_style="strong")
