"""Draws what a print asks over its height, upright as it stands: flow across, height up."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from advisor.answers import DemandReport, DemandRow
from advisor.base import frozen
from advisor.report.numbers import figure, flow, ranged
from advisor.report.pictures.canvas import (
    draw_foot,
    draw_line,
    draw_upright,
    inline,
    places,
    set_scale,
    sheet,
)
from advisor.report.pictures.labels import LINE, Box
from advisor.report.pictures.lettering import Label, label_rows, name_spot, say
from advisor.report.pictures.svg import Telling, marker

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw_heights"]

_HEIGHT = 330.0
_MARGINS = (40.0, 20.0, 3 * LINE + 12.0, 40.0)
_ROOM = 1.08
_MOST = 240  # layers above which neighbours are joined, the largest of each kept
_FAR = 1.6  # times the largest flow: marks further off are told at the edge


@frozen
class _Slab:
    """A stretch of the height in mm, and the largest flows in it in mm3/s."""

    foot: float
    head: float
    sustained: float
    peak: float


def draw_heights(report: DemandReport) -> str:
    """Return flow over height as one ``<svg>``; '' where no layer's height is known.

    Parameters
    ----------
    report : DemandReport
        What a print asks.
    """
    slabs = _slabs(report.layers)
    if not slabs:
        return ""
    with sheet(_MARGINS, height=_HEIGHT) as axes:
        set_scale(axes, _right(report, slabs), slabs[-1].head * 1.02)
        axes.grid(False)
        axes.set_xlabel("flow in mm3/s")
        say(axes, (4.0, axes.bbox.y1 + 7.0 + 2.5 * LINE), "height in mm", colour="quiet")
        outlines = {
            name: ([getattr(slab, name) for slab in slabs for _ in range(2)],
                   [height for slab in slabs for height in (slab.foot, slab.head)])
            for name in ("peak", "sustained")
        }  # fmt: skip
        _fill(axes, *outlines["sustained"])
        draw_line(axes, "peak", outlines["peak"], colour="need", dashes="dotted", width=1.4)
        draw_line(axes, "sustained", outlines["sustained"], colour="need", width=2.2)
        marks = _draw_marks(axes, report)
        _label_outlines(axes, outlines, marks)
        return inline(axes, "heights", _telling(report))


def _slabs(layers: Sequence[DemandRow]) -> list[_Slab]:
    placed = sorted(
        (row.height, min(row.peak if row.sustained is None else row.sustained, row.peak), row.peak)
        for row in layers
        if row.height is not None and row.height > 0.0 and row.volume > 0.0
    )
    step = max(1, -(-len(placed) // _MOST))
    made: list[_Slab] = []
    for i in range(0, len(placed), step):
        group = placed[i : i + step]
        foot = made[-1].head if made else 0.0
        most = max(row[1] for row in group), max(row[2] for row in group)
        made.append(_Slab(foot, group[-1][0], *most))
    return made


def _marks(report: DemandReport) -> Iterator[tuple[str, str, float, str, str]]:
    """Yield name, words, value, colour and dashes of the flows the print is set against."""
    if report.capacity is not None:
        yield "capacity", "capacity", report.capacity.value, "ink", "solid"
    if report.skip is not None:
        yield "skip", "motor skips", report.skip.value, "motor", "dashed"
    if report.cap is not None:
        yield "cap", "slicer cap", report.cap, "ask", "mixed"


def _right(report: DemandReport, slabs: Sequence[_Slab]) -> float:
    most = max([slab.peak for slab in slabs] + [0.1])
    near = [value for _, _, value, _, _ in _marks(report) if value <= _FAR * most]
    return _ROOM * max([most, *near])


def _fill(axes: Axes, flows: Sequence[float], heights: Sequence[float]) -> None:
    filled = axes.fill_betweenx(
        list(heights), 0.0, list(flows), color=marker("need"), alpha=0.16, linewidth=0.0
    )
    filled.set_gid("of-sustained-fill")


def _draw_marks(axes: Axes, report: DemandReport) -> list[tuple[float, float]]:
    """Draw capacity, skip and cap; return points along them."""
    right, top = axes.get_xlim()[1], axes.get_ylim()[1]
    rows: tuple[list[Label], list[Label]] = ([], [])
    along: list[tuple[float, float]] = []
    if report.capacity is not None:
        draw_foot(axes, "capacity", report.capacity, colour="ink")
    for name, words, value, colour, dashes in _marks(report):
        draw_upright(axes, name, value, colour=colour, dashes=dashes)
        on = " \u2192" if value > right else ""
        rows[name == "capacity"].append(Label(f"{words} {flow(value)}{on}", value, colour))
        if value <= right:
            along += places(axes, ((value, value), (0.0, top)))
    label_rows(axes, rows)
    return along


def _label_outlines(
    axes: Axes,
    outlines: dict[str, tuple[list[float], list[float]]],
    marks: Sequence[tuple[float, float]],
) -> None:
    """Write which outline is which, near the widest place of each."""
    box = axes.bbox
    within = Box(box.x0 + 3.0, box.y0 + 12.0, box.x1 + _MARGINS[1] - 2.0, box.y1 - 2.0)
    lines = [*marks, *(place for line in outlines.values() for place in places(axes, line))]
    taken: list[Box] = []
    for name, (flows, heights) in outlines.items():
        widest = max((most, i) for i, most in enumerate(flows) if i % 2 == 0)[1]
        middle = (heights[widest] + heights[widest + 1]) / 2
        x, y = map(float, axes.transData.transform((flows[widest], middle)))
        taken += name_spot(
            axes, name, (x, y), colour="need", within=within, taken=taken, lines=lines
        )


def _telling(report: DemandReport) -> Telling:
    told = [f"Peak {flow(report.peak)} mm3/s in line {report.peak_line}"]
    if report.sustained is not None:
        told.append(f"sustained {flow(report.sustained)} mm3/s in line {report.sustained_line}")
    if report.capacity is not None:
        told.append(f"capacity {ranged(report.capacity, 'mm3/s')}")
    if report.skip is not None:
        told.append(f"the motor skips at {ranged(report.skip, 'mm3/s')}")
    if report.cap is not None:
        told.append(f"the slicer cap is {flow(report.cap)} mm3/s")
    heights = [row.height for row in report.layers if row.height is not None]
    return Telling(
        f"Flow over the height of {report.path}",
        f"{'; '.join(told)}; {len(heights)} layers up to {figure(max(heights))} mm.",
    )
