"""The part of `demand` for people on what more flow would buy: the saving, then a row a flow."""

from __future__ import annotations

from advisor.answers import CappedTime, CapTimesAnswer
from advisor.report.bar import parts, parts_legend
from advisor.report.caps_words import clock, limited_words, saving_words, sliced_words
from advisor.report.numbers import figure, share
from advisor.report.page import Page

__all__ = ["write_caps"]

FLOW = "mm3/s"
_COLUMNS = (8, 14, 7, 7)
_LEAST_CELLS = 12  # of a bar that tells something
_UNKNOWN = "cannot be told"


def write_caps(page: Page, caps: CapTimesAnswer, time: float) -> None:
    """Write the answer and the table.

    Parameters
    ----------
    page : Page
        Where to.
    caps : CapTimesAnswer
        The print's times.
    time : float
        Its time as it is, [s]
    """
    page.entry("answer", saving_words(caps, time), label_style="strong", style="strong")
    page.entry("as it is", f"{clock(time)} of motion: {limited_words(caps)}")
    page.entry("sliced", sliced_words(caps))
    page.heading(f"The time with every flow held to a cap, in {FLOW}")
    cells = page.look.width - 2 - sum(_COLUMNS)
    drawn = page.look.bars and cells >= _LEAST_CELLS
    page.row(("  " + _row("cap", "time", "saves", "held"), ""))
    longest = max((row.time for row in caps.rows if row.time is not None), default=0.0)
    for row in caps.rows:
        bar = _bar(page, row, longest, cells) if drawn else ""
        page.row(("  " + _words(row) + bar, ""))
    if drawn and longest:
        page.row(("  " + parts_legend("held by the cap", "all else", drawn=page.look.drawn), ""))


def _row(*cells: str) -> str:
    return "".join(cell.ljust(width) for cell, width in zip(cells, _COLUMNS, strict=True))


def _words(row: CappedTime) -> str:
    if row.time is None:
        return _row(figure(row.flow), _UNKNOWN, "", "")
    saves, held = row.saves or 0.0, row.held or 0.0
    return _row(figure(row.flow), clock(row.time), share(saves), share(held))


def _bar(page: Page, row: CappedTime, longest: float, cells: int) -> str:
    if row.time is None or not longest:
        return ""
    held = row.time * (row.held or 0.0)
    return parts(held / longest, row.time / longest, cells=cells, drawn=page.look.drawn)
