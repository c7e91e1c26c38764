"""Draws the steps of a weighed test: a row a flow, a point with its uncertainty on a scale.

Every number drawn stands beside it in words; the line at the slow run's level is for the eye.
"""

from __future__ import annotations

import math

from advisor.report.numbers import figure, flow
from advisor.report.page import LABEL, Page
from advisor.weigh import Evaluation, Step, trade

__all__ = ["write_picture"]

_MM3 = 1e9
_NUMBERS, _SKIPPED = 17, 9  # columns of ratio and uncertainty, and of skipped
_FEWEST_CELLS = 16
_FLOOR = 0.4  # nothing below this is drawn to scale
_STEP = 0.05
_SKIP_WORDS = {"yes": "skipped", "no": "", "unsure": "unsure"}
_DRAWN = {"band": "\u2500", "level": "\u2502", "level on band": "\u253c"}
_ASCII = {"band": "-", "level": "|", "level on band": "|"}


def write_picture(page: Page, test: Evaluation) -> None:
    """Write the rows of a test, with the knee between them."""
    page.heading("Delivered, % of the slow run, +- (95 %)")
    cells = page.look.width - LABEL - _NUMBERS - _SKIPPED - 1
    drawn = page.look.bars and cells >= _FEWEST_CELLS
    low, high = _scale(test)
    head = "flow mm3/s".ljust(LABEL) + "delivered".ljust(_NUMBERS) + "motor".ljust(_SKIPPED)
    if drawn:
        ends = f"{100 * low:.0f} %", f"{100 * high:.0f} %"
        head += ends[0] + ends[1].rjust(cells - len(ends[0]))
    page.row((head, ""))
    knee = trade(test.knee, "mm3/s")
    told = knee is None
    for step in test.steps:
        if knee is not None and not told and step.flow * _MM3 > knee.value:
            reach = f"{figure(knee.low)}-{figure(knee.high)}"
            page.row((flow(knee.value).rjust(6).ljust(LABEL), "neck"),
                     (f"under-extrusion starts ({reach})", "neck"))  # fmt: skip
            told = True
        words = _words(step)
        picture = _cells(page, step, low, high, cells) if drawn else ""
        page.row((words, "error" if step.skipped == "yes" else ""), (picture, ""))


def _words(step: Step) -> str:
    ratio = f"{100 * step.ratio:5.1f} % +-{100 * step.expanded:.1f}"
    skipped = "left out" if step.outlier else _SKIP_WORDS[step.skipped]
    return flow(step.flow * _MM3).rjust(6).ljust(LABEL) + ratio.ljust(_NUMBERS) + (
        skipped.ljust(_SKIPPED)
    )  # fmt: skip


def _scale(test: Evaluation) -> tuple[float, float]:
    """Return round ends that hold all points but those too low to matter."""
    lowest = min(step.ratio - step.expanded for step in test.steps)
    highest = max(step.ratio + step.expanded for step in test.steps)
    low = math.floor(max(lowest, _FLOOR) / _STEP + 1e-9) * _STEP
    high = math.ceil(max(highest, 1.0 + _STEP) / _STEP - 1e-9) * _STEP
    return min(low, 1.0 - 2 * _STEP), high


def _cells(page: Page, step: Step, low: float, high: float, cells: int) -> str:
    marks = _DRAWN if page.look.drawn else _ASCII

    def cell(ratio: float) -> int:
        return math.floor((ratio - low) / (high - low) * (cells - 1) + 0.5)

    row = [" "] * cells
    for place in range(cell(step.ratio - step.expanded), cell(step.ratio + step.expanded) + 1):
        if 0 <= place < cells:
            row[place] = "band"
    level = cell(1.0)
    row[level] = "level on band" if row[level] == "band" else "level"
    made = [marks.get(mark, mark) for mark in row]
    at = cell(step.ratio)
    made[max(0, min(at, cells - 1))] = "<" if at < 0 else "o"
    return "".join(made).rstrip()
