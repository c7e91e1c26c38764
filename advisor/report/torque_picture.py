"""Draws torque against motor speed in character cells, with the operating points as letters.

Lines differ by their character, not by colour, and everything drawn stands in the table below it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from advisor.answers import BandLine, OperatingPoint, TorqueReport
from advisor.report.numbers import figure
from advisor.report.page import Page, wrapped
from advisor.report.torque_words import cell

__all__ = ["FEWEST_CELLS", "LETTERS", "write_picture"]

LETTERS = "ABCDEFGH"
FEWEST_CELLS = 40  # columns below which nothing is drawn
_TICKS, _ROWS, _SCALE = 4, 12, 7  # numbers and lines beside the picture; columns of the numbers
_STEPS = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)  # of the numbers, times a power of ten
_HEADROOM = 1.04
_NEAR = 1.5  # times the torque there is: a need beyond that is only pointed to
_DRAWN = {
    "usable": "\u2550",
    "skip": "\u2500",
    "needed": "\u00b7",
    "side": "\u2502",
    "foot": "\u2500",
}
_ASCII = {"usable": "=", "skip": "-", "needed": ".", "side": "|", "foot": "-"}
_Grid = list[list[str]]


def write_picture(page: Page, report: TorqueReport) -> bool:
    """Write the picture; return False, and write nothing, where there is no room for it."""
    cells = page.look.width - _SCALE - 2
    if not page.look.bars or cells < FEWEST_CELLS or report.usable is None or report.skip is None:
        return False
    marks = _DRAWN if page.look.drawn else _ASCII
    top = _top(report.skip, report.points)
    grid = [[" "] * cells for _ in range(_ROWS)]
    _draw_lines(grid, report, top, marks)
    above = _draw_points(grid, report.points, report.speeds[-1], top)
    page.heading("Torque in mN m against the motor's speed in turns per second")
    for i, row in enumerate(grid):
        tick = i % (_ROWS // _TICKS) == 0
        label = cell(top * (_ROWS - i) / _ROWS) if tick else ""
        page.row((f"{label:>{_SCALE - 1}} {marks['side']}" + "".join(row).rstrip(), ""))
    page.row((f"{'0':>{_SCALE - 1}} {marks['side']}" + marks["foot"] * cells, ""))
    page.row((" " * (_SCALE + 1) + _axis(report.speeds[-1], cells), ""))
    for line in wrapped("  ".join(_meanings(marks, above)), cells):
        page.row((" " * (_SCALE + 1) + line, ""))
    return True


def _top(skip: BandLine, points: Sequence[OperatingPoint]) -> float:
    """Return the top of the picture, a round number: above the torque and the needs near to it."""
    most = max(skip.value)
    needs = [p.needed.value for p in points if math.isfinite(p.needed.value)]
    near = [need for need in needs if need < _NEAR * most]
    least = max([most, *near]) * _HEADROOM
    if least < max(needs, default=1.0) / 1000.0:  # no torque to speak of
        least = max(needs, default=1.0) * _HEADROOM
    step = least / _TICKS
    power = 10.0 ** math.floor(math.log10(step))
    return _TICKS * power * next((x for x in _STEPS if x * power >= step), 10.0)


def _draw_lines(grid: _Grid, report: TorqueReport, top: float, marks: dict[str, str]) -> None:
    for name in ("needed", "skip", "usable"):
        line = getattr(report, name)
        if line is None:
            continue
        for column in range(len(grid[0])):
            speed = (column + 0.5) / len(grid[0]) * report.speeds[-1]
            _put(grid, column, _at(report.speeds, line.value, speed) / top, marks[name])


def _put(grid: _Grid, column: int, height: float, mark: str) -> None:
    row = len(grid) - 1 - int(min(height, 2.0) * len(grid))
    if 0 <= row < len(grid):
        grid[row][column] = mark


def _at(speeds: Sequence[float], values: Sequence[float], speed: float) -> float:
    """Return the value at a speed, between its neighbours; speeds are evenly spaced from 0."""
    place = speed / speeds[-1] * (len(speeds) - 1)
    i = min(int(place), len(speeds) - 2)
    below, above = values[i], values[i + 1]
    return below if above == below else below + (above - below) * (place - i)


def _draw_points(
    grid: _Grid, points: Sequence[OperatingPoint], fastest: float, top: float
) -> list[str]:
    """Write a letter at each point's need; return those that stand in the top line for more."""
    taken: set[tuple[int, int]] = set()
    above = []
    rows, cells = len(grid), len(grid[0])
    for letter, point in zip(LETTERS, points, strict=False):
        height = point.needed.value / top
        row = max(rows - 1 - int(min(height, 2.0) * rows), 0)
        column = min(int(point.motor_speed.value / fastest * cells), cells - 1)
        while (row, column) in taken and column < cells - 1:
            column += 1
        taken.add((row, column))
        grid[row][column] = letter
        if height > 1.0:
            above.append(letter)
    return above


def _axis(fastest: float, cells: int) -> str:
    middle, end = figure(fastest / 2), figure(fastest)
    line = "0".ljust(cells // 2 - len(middle) // 2) + middle
    return line.ljust(cells - len(end)) + end


def _meanings(marks: dict[str, str], above: Sequence[str]) -> Iterator[str]:
    yield f"{marks['usable']} usable,"
    yield f"{marks['skip']} steps are lost above,"
    yield f"{marks['needed']} needed for a steady feed,"
    yield "A, B, ... see below" + (";" if above else "")
    if above:
        stands = "stands" if len(above) == 1 else "stand"
        yield f"{' and '.join(above)} {stands} for far more than the picture holds"
