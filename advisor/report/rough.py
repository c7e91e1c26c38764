"""Says of bands that were taken of few machines that they are rough."""

from __future__ import annotations

from advisor.report.page import Page

__all__ = ["rough_words", "write_rough"]

_FEW = 512  # fewer machines than this place the ends of a band no better than to some 10 %


def rough_words(draws: int | None) -> str | None:
    """Return the sentence on bands of few machines; None where there are enough."""
    if draws is None or draws >= _FEW:
        return None
    return (
        f"worked out for {draws} machines only: typical values hold, the ends of a range may be a "
        f"tenth off (--draws {_FEW} or more places them better)"
    )


def write_rough(page: Page, draws: int | None) -> None:
    """Write that the bands are rough, where they are."""
    words = rough_words(draws)
    if words is not None:
        page.entry("rough", words, style="strong")
