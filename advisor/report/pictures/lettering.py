"""Writes the words of a picture: in rows above the axes, at the ends of lines, beside points.

None covers another; a thin line leads from words to what they name where that is not beside them.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from advisor.base import frozen
from advisor.report.pictures.canvas import FONT, Points, held, places
from advisor.report.pictures.labels import LINE, Box, free_place, side_by_side, spread, width_of
from advisor.report.pictures.svg import marker

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["Label", "label_ends", "label_line", "label_rows", "name_spot", "say"]

_APART = 9.0  # from which a label and its point are joined by a line
_PAD = 6.0  # between a line's end and its label


@frozen
class Label:
    """Words at a place along an axis, in the scale of that axis, and the colour's name."""

    text: str
    at: float
    colour: str


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
    for i, unsorted in enumerate(rows):
        row = sorted(unsorted, key=lambda label: -label.at)
        y = box.y1 + 5.0 + LINE * (len(rows) - i - 0.5)
        wanted = [box.x0 + min(max(label.at, 0.0), right) / right * box.width for label in row]
        sizes = [width_of(label.text, FONT) + 6.0 for label in row]
        found = side_by_side(wanted, sizes, (2.0, figure.bbox.x1 - 2.0), kept)
        for label, middle, at in zip(row, found, wanted, strict=True):
            say(axes, (middle, y), label.text, colour=label.colour, side="center")
            if label.at <= right and i not in bare:
                _leader(axes, [(at, y - LINE / 2), (at, box.y1)], label.colour)
        kept = [*kept, *((at - 3.0, at + 3.0) for at in wanted)]


def label_ends(axes: Axes, labels: Sequence[Label]) -> list[Box]:
    """Write labels one above the other at the right of the axes, each at its line's end.

    Parameters
    ----------
    axes : Axes
        With its scales set.
    labels : sequence of Label
        Their places along the upright scale; those off it stand at the top.

    Returns
    -------
    list of Box
        Where they stand.
    """
    box = axes.bbox
    top = axes.get_ylim()[1]
    ends = held((label.at for label in labels), top)
    wanted = [float(axes.transData.transform((0.0, end))[1]) for end in ends]
    found = spread(wanted, [LINE] * len(labels), (box.y0, box.y1 + 4.0))
    for label, middle, at in zip(labels, found, wanted, strict=True):
        start = box.x1 + _PAD + 6.0
        say(axes, (start, middle), label.text, colour=label.colour)
        _leader(axes, [(box.x1, min(at, box.y1)), (start - 2.0, middle)], label.colour)
    edge = float(axes.figure.bbox.x1)
    return [Box(box.x1, middle - LINE / 2, edge, middle + LINE / 2) for middle in found]


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
    if not own:
        return []
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


def _leader(axes: Axes, points: list[tuple[float, float]], colour: str) -> None:
    from matplotlib.lines import Line2D

    figure: Any = axes.figure
    xs, ys = zip(*points, strict=True)
    figure.add_artist(
        Line2D(xs, ys, color=marker(colour), linewidth=0.8, alpha=0.8, transform=None)
    )
