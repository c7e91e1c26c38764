"""Draws a flow with its band as a strand on a scale, crossed by the line of the asked flow.

A doubled strand runs as far as the limit is all but certain (its low end), a single one to
its high end; ``o`` marks the value. Every number drawn stands beside it in words.
"""

from __future__ import annotations

import math

from advisor.base import Band, frozen
from advisor.report.numbers import figure

__all__ = ["Scale", "axis", "legend", "parts", "parts_legend", "scale_for", "strand"]

_STEPS = (1.0, 1.2, 1.6, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)  # their halves are round too
_HEADROOM = 1.1
_LEAST = 1.0  # mm3/s or N: a finer axis says nothing
_DRAWN = {"sure": "\u2550", "maybe": "\u2500", "ask": "\u2502",
          "ask on sure": "\u256a", "ask on maybe": "\u253c"}  # fmt: skip
_ASCII = {"sure": "=", "maybe": "-", "ask": "|", "ask on sure": "|", "ask on maybe": "|"}


@frozen
class Scale:
    """Flow from 0 to `top` over a number of character cells."""

    top: float
    cells: int
    asked: float | None
    drawn: bool

    def cell(self, flow: float) -> int:
        """Return the cell in which `flow` falls; at or beyond `cells` where it is off the scale."""
        return self.cells if math.isinf(flow) else int(flow / self.top * self.cells)


def scale_for(*, flows: list[float], asked: float | None, cells: int, drawn: bool) -> Scale:
    """Return a scale with a round top, 1 at least, that holds `flows` and the asked flow."""
    need = max([*flows, asked or 0.0, _LEAST]) * _HEADROOM
    decade = 10.0 ** math.floor(math.log10(need))
    top = next(step * decade for step in _STEPS if step * decade >= need * (1 - 1e-9))
    return Scale(top, cells, asked, drawn)


def axis(scale: Scale) -> str:
    """Return the line of numbers above the strands: 0, the middle where there is room, the top."""
    end, middle = figure(scale.top), figure(scale.top / 2)
    line = "0".ljust(scale.cells // 2 - len(middle) // 2) + middle
    line = line if len(line) + len(end) < scale.cells else "0"
    return line.ljust(scale.cells - len(end)) + end


def legend(scale: Scale, *, line: str = "asked", plain: bool = False) -> str:
    """Return what the marks of the strands mean, in one line; `line` names the crossing one.

    `plain`: in the words of the trade (range, typical).
    """
    marks = _DRAWN if scale.drawn else _ASCII
    asked = f"   {marks['ask']} {line}" if scale.asked is not None else ""
    if plain:
        asked = f"  {marks['ask']} {line}" if scale.asked is not None else ""
        return f"{marks['sure']} low end  {marks['maybe']} range  o typical{asked}  > goes on"
    return f"{marks['sure']} low end   {marks['maybe']} likely   o nominal{asked}   > goes on"


def strand(scale: Scale, flow: Band | None) -> str:
    """Return the cells of one stage, `flow` in the unit of the scale; None draws no strand."""
    marks = _DRAWN if scale.drawn else _ASCII
    cells = [" "] * scale.cells
    if flow is not None:
        sure, end = scale.cell(flow.low), scale.cell(flow.high)
        for i in range(min(end + 1, scale.cells)):
            cells[i] = "sure" if i < sure else "maybe"
    if scale.asked is not None and (at := scale.cell(scale.asked)) < scale.cells:
        cells[at] = "ask" if cells[at] == " " else f"ask on {cells[at]}"
    drawn = [marks.get(cell, cell) for cell in cells]
    if flow is not None:
        _mark_value(drawn, scale, flow)
    return "".join(drawn)


def parts(first: float, whole: float, *, cells: int, drawn: bool) -> str:
    """Return a bar of `whole` of the cells, its part `first` doubled; both are shares of 0 to 1.

    >>> parts(0.25, 0.5, cells=8, drawn=False)
    '==--'
    """
    marks = _DRAWN if drawn else _ASCII
    sure, end = round(first * cells), round(whole * cells)
    return marks["sure"] * sure + marks["maybe"] * (end - sure)


def parts_legend(first: str, rest: str, *, drawn: bool) -> str:
    """Return what the marks of `parts` mean, in one line."""
    marks = _DRAWN if drawn else _ASCII
    return f"{marks['sure']} {first}   {marks['maybe']} {rest}"


def _mark_value(drawn: list[str], scale: Scale, flow: Band) -> None:
    at = scale.cell(flow.value)
    if at < scale.cells:
        drawn[at] = "o"
    if scale.cell(flow.high) >= scale.cells:
        drawn[-1] = ">"
