"""Draws torque against motor speed in character cells, with the operating points as letters.

Lines differ by their character, not by colour, and everything drawn stands in the table below it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.curve_records import OperatingPoint, TorqueReport
from advisor.report.numbers import figure
from advisor.report.page import Page

__all__ = ["FEWEST_CELLS", "LETTERS", "write_picture"]

LETTERS = "ABCDEFGH"
FEWEST_CELLS = 40  # columns below which nothing is drawn
_ROWS, _SCALE = 13, 7  # lines of the picture; columns of the numbers beside it
_HEADROOM = 1.12
_DRAWN = {
    "usable": "\u2550",
    "skip": "\u2500",
    "needed": "\u00b7",
    "side": "\u2502",
    "foot": "\u2500",
}
_ASCII = {"usable": "=", "skip": "-", "needed": ".", "side": "|", "foot": "-"}


def write_picture(page: Page, report: TorqueReport) -> bool:
    """Write the picture; return False, and write nothing, where there is no room for it."""
    cells = page.look.width - _SCALE - 2
    if not page.look.bars or cells < FEWEST_CELLS or report.usable is None or report.skip is None:
        return False
    marks = _DRAWN if page.look.drawn else _ASCII
    top = _top(report)
    grid = [[" "] * cells for _ in range(_ROWS)]
    _draw_lines(grid, report, top, marks)
    _draw_points(grid, report.points, report.speeds[-1], top)
    page.heading("Torque in mN m against the motor's speed in turns per second")
    for i, row in enumerate(grid):
        level = top * (_ROWS - i) / _ROWS
        label = figure(level, 2) if i % 4 == 0 else ""
        page.row((f"{label:>{_SCALE - 1}} {marks['side']}" + "".join(row), ""))
    page.row((" " * _SCALE + marks["side"] + marks["foot"] * cells, ""))
    page.row((" " * (_SCALE + 1) + _axis(report.speeds[-1], cells), ""))
    page.row((" " * (_SCALE + 1) + _legend(marks), ""))
    return True


def _top(report: TorqueReport) -> float:
    """Return the top of the picture: above the torque there is, and above needs near to it."""
    assert report.skip is not None
    most = max(report.skip.value)
    near = [p.needed.value for p in report.points if p.needed.value < 1.5 * most]
    return max([most, *near, 1e-6]) * _HEADROOM


def _draw_lines(
    grid: list[list[str]], report: TorqueReport, top: float, marks: dict[str, str]
) -> None:
    speeds = report.speeds
    for name in ("needed", "skip", "usable"):
        line = getattr(report, name)
        if line is None:
            continue
        for column in range(len(grid[0])):
            value = _at(speeds, line.value, (column + 0.5) / len(grid[0]) * speeds[-1])
            _put(grid, column, value, top, marks[name])


def _put(grid: list[list[str]], column: int, value: float, top: float, mark: str) -> None:
    row = len(grid) - 1 - int(value / top * len(grid))
    if 0 <= row < len(grid) and 0 <= column < len(grid[0]):
        grid[row][column] = mark


def _at(speeds: Sequence[float], values: Sequence[float], speed: float) -> float:
    """Return the value at a speed, between its neighbours; speeds are evenly spaced from 0."""
    place = speed / speeds[-1] * (len(speeds) - 1)
    i = min(int(place), len(speeds) - 2)
    below, above = values[i], values[i + 1]
    return below if above == below else below + (above - below) * (place - i)


def _draw_points(
    grid: list[list[str]], points: Sequence[OperatingPoint], fastest: float, top: float
) -> None:
    """Write a letter at each point's need; one off the top stands in the top line."""
    taken: set[tuple[int, int]] = set()
    rows, cells = len(grid), len(grid[0])
    for letter, point in zip(LETTERS, points, strict=False):
        row = max(rows - 1 - int(min(point.needed.value / top, 2.0) * rows), 0)
        column = min(int(point.motor_speed.value / fastest * cells), cells - 1)
        while (row, column) in taken and column < cells - 1:
            column += 1
        taken.add((row, column))
        grid[row][column] = letter


def _axis(fastest: float, cells: int) -> str:
    middle, end = figure(fastest / 2, 2), figure(fastest, 2)
    line = "0".ljust(cells // 2 - len(middle) // 2) + middle
    return line.ljust(cells - len(end)) + end


def _legend(marks: dict[str, str]) -> str:
    return "   ".join(_meanings(marks))


def _meanings(marks: dict[str, str]) -> Iterator[str]:
    yield f"{marks['usable']} usable"
    yield f"{marks['skip']} steps are lost above"
    yield f"{marks['needed']} needed to feed"
    yield "A, B, ... see below"
