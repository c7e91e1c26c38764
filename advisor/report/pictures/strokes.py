"""The strokes that all pictures share: lines with bands, marks with their words, points.

A line differs from its neighbour by its dashes and by the words at its end, never by colour alone.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

from advisor.curve_records import BandLine
from advisor.frozen import frozen
from advisor.model import Band
from advisor.report.pictures.canvas import FONT
from advisor.report.pictures.labels import LINE, Box, free_place, side_by_side, spread, width_of
from advisor.report.pictures.svg import marker

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = [
    "DASHES",
    "Label",
    "Points",
    "draw_band",
    "draw_foot",
    "draw_line",
    "draw_upright",
    "draw_whisker",
    "few_round",
    "held",
    "label_ends",
    "label_line",
    "label_rows",
    "name_spot",
    "places",
    "say",
    "set_scale",
]

_BEYOND = 4.0  # times the scale: as far as a line is drawn on, out of sight
_BAND = 0.16
_BAR, _BAR_STRENGTH, _INSET = 5.0, 0.4, 5.0  # a band drawn as a bar
_CLOSE = 3.0  # between the points along a line that labels keep clear of
Points = Sequence[tuple[float, float]]
_APART = 9.0  # from which a label and its point are joined by a line
_PAD = 6.0  # between a line's end and its label
DASHES: dict[str, Any] = {
    "solid": "solid",
    "dashed": (0, (5, 3)),
    "dotted": (0, (1.2, 2.4)),
    "mixed": (0, (7, 2.5, 1.5, 2.5)),
}


@frozen
class Label:
    """Words at a place along an axis, in the scale of that axis, and the colour's name."""

    text: str
    at: float
    colour: str


def held(values: Iterable[float], top: float) -> list[float]:
    """Return values that can be drawn: what is endless or far off the scale lies just far off."""
    most = _BEYOND * top
    return [min(value, most) if not math.isnan(value) else most for value in values]


def set_scale(axes: Axes, right: float, top: float, *, foot: float = 0.0) -> None:
    """Give the axes their scales, along from 0 and up from `foot`, with few round numbers."""
    axes.set_xlim(0.0, right)
    axes.set_ylim(foot, top)
    axes.xaxis.set_major_locator(few_round())
    axes.yaxis.set_major_locator(few_round())


def few_round() -> Any:
    """Return what chooses few round numbers along an axis."""
    from matplotlib.ticker import MaxNLocator

    return MaxNLocator(nbins=5, steps=[1, 2, 5, 10])


def draw_line(
    axes: Axes,
    name: str,
    line: tuple[Sequence[float], Sequence[float]],
    *,
    colour: str,
    dashes: str = "solid",
    width: float = 2.0,
) -> None:
    """Draw a line; what is off the scale is drawn on out of sight, so that none is bent."""
    right, top = axes.get_xlim()[1], axes.get_ylim()[1]
    drawn = axes.plot(
        held(line[0], right), held(line[1], top),
        color=marker(colour), linewidth=width, linestyle=DASHES[dashes],
    )  # fmt: skip
    drawn[0].set_gid(f"of-{name}")


def draw_band(
    axes: Axes,
    name: str,
    along: Sequence[float],
    line: BandLine,
    *,
    colour: str,
    strength: float = _BAND,
) -> None:
    """Fill what is likely: from the low to the high end."""
    top = axes.get_ylim()[1]
    made = axes.fill_between(
        list(along), held(line.low, top), held(line.high, top),
        color=marker(colour), alpha=strength, linewidth=0.0,
    )  # fmt: skip
    made.set_gid(f"of-{name}-band")


def draw_upright(
    axes: Axes, name: str, value: float, *, colour: str, dashes: str, width: float = 1.6
) -> None:
    """Draw an upright line at a value; beyond the scale nothing."""
    if value <= axes.get_xlim()[1]:
        line = axes.axvline(value, color=marker(colour), linewidth=width, linestyle=DASHES[dashes])
        line.set_gid(f"of-{name}")


def draw_foot(axes: Axes, name: str, band: Band, *, colour: str) -> None:
    """Draw the band of an upright line as a bar along the foot of the axes."""
    right = axes.get_xlim()[1]
    foot, top = axes.get_ylim()
    at = foot + (top - foot) * _INSET / axes.bbox.height
    drawn = axes.plot(
        held((band.low, band.high), right), [at, at], color=marker(colour), linewidth=_BAR,
        alpha=_BAR_STRENGTH, solid_capstyle="butt",
    )  # fmt: skip
    drawn[0].set_gid(f"of-{name}-band")


def draw_whisker(axes: Axes, name: str, band: Band, *, colour: str, inset: float) -> None:
    """Draw the band of a level line as a bar across it, `inset` from the right of the axes."""
    right, top = axes.get_xlim()[1], axes.get_ylim()[1]
    at = right * (1.0 - inset / axes.bbox.width)
    drawn = axes.plot(
        [at, at], held((band.low, band.high), top), color=marker(colour), linewidth=_BAR,
        alpha=_BAR_STRENGTH, solid_capstyle="butt",
    )  # fmt: skip
    drawn[0].set_gid(f"of-{name}-band")


def say(
    axes: Axes, at: tuple[float, float], text: str, *, colour: str = "ink", side: str = "left"
) -> None:
    """Write words at a place given in units of the picture."""
    axes.text(*at, text, color=marker(colour), ha=side, va="center", transform=None, clip_on=False)


def label_rows(axes: Axes, rows: Sequence[Sequence[Label]], *, bare: Sequence[int] = ()) -> None:
    """Write labels in rows above the axes, each near its place with a thin line down to it.

    Parameters
    ----------
    axes : Axes
        With its scales set.
    rows : sequence of sequence of Label
        From the top row down; places beyond the scale stand at its end.
    bare : sequence of int
        Rows without those lines.
    """
    box, right = axes.bbox, axes.get_xlim()[1]
    figure: Any = axes.figure
    kept: list[tuple[float, float]] = []  # where lines of the rows above pass
    for i, row in enumerate(rows):
        y = box.y1 + 5.0 + LINE * (len(rows) - i - 0.5)
        wanted = [box.x0 + min(max(label.at, 0.0), right) / right * box.width for label in row]
        sizes = [width_of(label.text, FONT) + 6.0 for label in row]
        found = side_by_side(wanted, sizes, (2.0, figure.bbox.x1 - 2.0), kept)
        for label, middle, at in zip(row, found, wanted, strict=True):
            say(axes, (middle, y), label.text, colour=label.colour, side="center")
            if label.at <= right and i not in bare:
                _leader(axes, [(at, y - LINE / 2), (at, box.y1)], label.colour)
        kept = [*kept, *((at - 3.0, at + 3.0) for at in wanted)]


def label_ends(axes: Axes, labels: Sequence[Label]) -> None:
    """Write labels one above the other at the right of the axes, each at its line's end."""
    box = axes.bbox
    top = axes.get_ylim()[1]
    ends = held((label.at for label in labels), top)
    wanted = [float(axes.transData.transform((0.0, end))[1]) for end in ends]
    found = spread(wanted, [LINE] * len(labels), (box.y0, box.y1 + LINE / 2))
    for label, middle, at in zip(labels, found, wanted, strict=True):
        start = box.x1 + _PAD + 6.0
        say(axes, (start, middle), label.text, colour=label.colour)
        _leader(axes, [(box.x1, min(at, box.y1)), (start - 2.0, middle)], label.colour)


def label_line(
    axes: Axes,
    text: str,
    line: tuple[Sequence[float], Sequence[float]],
    *,
    colour: str,
    among: Sequence[Points] = (),
    taken: Sequence[Box] = (),
) -> list[Box]:
    """Write words beside a rising line, near where it leaves the axes.

    Parameters
    ----------
    axes : Axes
        With its scales set.
    text : str
        The words.
    line : tuple of sequence of float
        The line, in the scales of the axes.
    colour : str
        The colour's name.
    among : sequence of array
        Lines that the words had better not cover, in units of the picture.
    taken : sequence of Box
        What they may not touch.

    Returns
    -------
    list of Box
        Where they stand; empty where there was no room.
    """
    box = axes.bbox
    within = Box(box.x0 + 3.0, box.y0 + 3.0, box.x1 - 3.0, box.y1 - 2.0)
    own = [(x, y) for x, y in places(axes, line) if y <= within.top]
    lines = [*own, *(point for points in among for point in points)]
    return name_spot(
        axes, text, own[-1], colour=colour, within=within, taken=taken, lines=lines, led=False
    )


def name_spot(
    axes: Axes,
    text: str,
    at: tuple[float, float],
    *,
    colour: str,
    within: Box,
    taken: Sequence[Box],
    lines: Points,
    led: bool = True,
) -> list[Box]:
    """Write words at the nearest free place, with a thin line to what they name if that is far.

    Parameters
    ----------
    axes : Axes
        With its scales set.
    text : str
        The words.
    at : tuple of float
        What they name, in units of the picture.
    colour : str
        The colour's name.
    within : Box
        Where they may stand.
    taken : sequence of Box
        What they may not touch.
    lines : sequence of tuple of float
        Places of drawn lines, which they had better not cover.
    led : bool
        Whether a thin line may be drawn.

    Returns
    -------
    list of Box
        Where they stand; empty where there was no room.
    """
    size = (width_of(text, FONT), LINE)
    box = free_place(at, size, within=within, taken=taken, lines=lines)
    if box is None:
        return []
    side = "right" if at[0] > box.right else "left" if at[0] < box.left else "center"
    x = {"right": box.right, "left": box.left, "center": (box.left + box.right) / 2}[side]
    say(axes, (x, (box.bottom + box.top) / 2), text, colour=colour, side=side)
    near = (min(max(at[0], box.left), box.right), min(max(at[1], box.bottom + 2.0), box.top - 2.0))
    if led and math.dist(at, near) > _APART:
        _leader(axes, [at, near], colour)
    return [box]


def places(axes: Axes, line: tuple[Sequence[float], Sequence[float]]) -> Points:
    """Return points close to each other along a line, in units of the picture."""
    right, top = axes.get_xlim()[1], axes.get_ylim()[1]
    pairs = list(zip(held(line[0], right), held(line[1], top), strict=True))
    xs, ys = zip(*(map(float, axes.transData.transform(pair)) for pair in pairs), strict=True)
    made: list[tuple[float, float]] = []
    for i in range(len(xs) - 1):
        reach = max(abs(xs[i + 1] - xs[i]), abs(ys[i + 1] - ys[i]))
        steps = max(1, math.ceil(reach / _CLOSE))
        made += [
            (xs[i] + (xs[i + 1] - xs[i]) * k / steps, ys[i] + (ys[i + 1] - ys[i]) * k / steps)
            for k in range(steps)
        ]
    return [*made, (xs[-1], ys[-1])]


def _leader(axes: Axes, points: list[tuple[float, float]], colour: str) -> None:
    from matplotlib.lines import Line2D

    figure: Any = axes.figure
    xs, ys = zip(*points, strict=True)
    figure.add_artist(
        Line2D(xs, ys, color=marker(colour), linewidth=0.8, alpha=0.8, transform=None)
    )
