"""Draws machines one below the other: name, flow, band, what limits first, and a strand each.

All strands have one scale; a line crosses them at a wanted flow. A page without bars, or one too
narrow for them, gets the same numbers without the strands; it decides nothing.
"""

from __future__ import annotations

from collections.abc import Sequence

from advisor.base import Band, frozen
from advisor.report.bar import Scale, axis, legend, scale_for, strand
from advisor.report.clean import cell_width
from advisor.report.numbers import figure, flow, ranged
from advisor.report.page import LABEL, Page, wrapped
from advisor.report.words import limit_words

__all__ = ["FLOW", "StrandRow", "write_strands"]

FLOW = "mm3/s"
_FLOW_COLUMN, _RANGE_COLUMN, _LEAST_STAGE = 6, 11, 8
_LEAST_NAME, _MOST_NAME, _FEWEST_CELLS, _FAIR_CELLS = 14, 44, 12, 20
_INDENT = 4


@frozen
class StrandRow:
    """One machine: its name, its capacity in mm3/s, what limits first, how it is written."""

    name: str
    flow: Band | None
    stage: str | None
    style: str = ""


def write_strands(
    page: Page, rows: Sequence[StrandRow], *, wanted: float | None, line: str
) -> None:
    """Write a row a machine.

    Parameters
    ----------
    page : Page
        Where to.
    rows : sequence of StrandRow
        The machines, at least one.
    wanted : float or None
        The flow at which a line crosses the strands, in mm3/s.
    line : str
        What that line is, for the legend.
    """
    columns = _FLOW_COLUMN + _RANGE_COLUMN + _stage_width(rows)
    name = _name_width(page, rows, columns)
    if page.look.width < name + columns:
        for row in rows:
            page.indented(f"{row.name}: {_in_words(row)}", 1, style=row.style)
        return
    cells = page.look.width - name - columns - 1
    scale = _scale(page, rows, wanted, cells) if page.look.bars else None
    head = "flow".rjust(_FLOW_COLUMN) + "  range".ljust(_RANGE_COLUMN) + "limits"
    drawn = "" if scale is None else axis(scale)
    page.row((" " * name + head.ljust(columns) + drawn, ""))
    for row in rows:
        numbers = _numbers(row).ljust(columns)
        _write_row(page, row, name, numbers, "" if scale is None else strand(scale, row.flow))
    if scale is not None:
        words = legend(scale, line=line, plain=True)
        page.row((" " * (LABEL if LABEL + len(words) <= page.look.width else 0) + words, ""))


def _stage_width(rows: Sequence[StrandRow]) -> int:
    return max(_LEAST_STAGE, *(len(limit_words(row.stage)) + 2 for row in rows))


def _name_width(page: Page, rows: Sequence[StrandRow], columns: int) -> int:
    """Return the columns for the names: what they need, as long as fair strands are left."""
    needed = max(cell_width(page.text(row.name)) for row in rows) + 2
    room = page.look.width - columns - 1 - _FAIR_CELLS
    return min(needed, max(_LEAST_NAME, min(_MOST_NAME, room)))


def _scale(page: Page, rows: Sequence[StrandRow], wanted: float | None, cells: int) -> Scale | None:
    known = [row.flow for row in rows if row.flow is not None]
    if not known or cells < _FEWEST_CELLS:
        return None
    most = max(one.value for one in known)
    flows = [min(one.high, 3.0 * most) for one in known]
    return scale_for(flows=flows, asked=wanted, cells=cells, drawn=page.look.drawn)


def _in_words(row: StrandRow) -> str:
    if row.flow is None:
        return "not known"
    return f"{ranged(row.flow, FLOW)}; {limit_words(row.stage)} limits first"


def _numbers(row: StrandRow) -> str:
    if row.flow is None:
        return "?".rjust(_FLOW_COLUMN) + "  not known"
    likely = f"  {figure(row.flow.low, 2)}-{figure(row.flow.high, 2)}"
    return (
        flow(row.flow.value).rjust(_FLOW_COLUMN)
        + likely.ljust(_RANGE_COLUMN)
        + limit_words(row.stage)
    )


def _write_row(page: Page, row: StrandRow, width: int, numbers: str, drawn: str) -> None:
    """Write a row; a name too long for its column stands in lines of its own above."""
    label = page.text(row.name)
    if cell_width(label) < width:
        page.row((label + " " * (width - cell_width(label)) + numbers, row.style), (drawn, ""))
        return
    for i, line in enumerate(wrapped(label, page.look.width - _INDENT)):
        page.row((line if i == 0 else " " * _INDENT + line, row.style))
    page.row((" " * width + numbers, row.style), (drawn, ""))
