"""Finds places for labels where none covers another; it draws nothing.

Boxes are (left, bottom, right, top) in units of the picture.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import frozen

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["LINE", "Box", "free_place", "side_by_side", "spread", "width_of"]

LINE = 15.0  # height of a line of text
_STEP = 4.0  # of the search for a free place
_GAP = 2.0
_CROSSING = 60.0  # what a label on a line costs, as distance from its point


@frozen
class Box:
    """A part of the picture."""

    left: float
    bottom: float
    right: float
    top: float

    def meets(self, other: Box, gap: float = _GAP) -> bool:
        """Whether two boxes are nearer than `gap`."""
        apart = (
            self.right + gap <= other.left
            or other.right + gap <= self.left
            or self.top + gap <= other.bottom
            or other.top + gap <= self.bottom
        )
        return not apart

    def holds(self, x: float, y: float) -> bool:
        """Whether a point lies in the box."""
        return self.left < x < self.right and self.bottom < y < self.top


@functools.cache
def width_of(text: str, size: float) -> float:
    """Return how wide a text is set, in units of the picture."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(family="DejaVu Sans", size=size)
    width, _, _ = text_to_path.get_text_width_height_descent(text, font, ismath=False)
    return float(width)


def spread(
    wanted: Sequence[float], sizes: Sequence[float], ends: tuple[float, float]
) -> list[float]:
    """Return middles near the wanted ones, so that pieces of these sizes lie side by side.

    Parameters
    ----------
    wanted, sizes : sequence of float
        Middle and size of each piece.
    ends : tuple of float
        Where they must lie, as far as they fit in.

    Returns
    -------
    list of float
        Middles, in the order given.
    """
    order = sorted(range(len(wanted)), key=lambda i: (wanted[i], i))
    made = dict.fromkeys(order, 0.0)
    edge = ends[0]
    for i in order:
        made[i] = max(wanted[i], edge + sizes[i] / 2)
        edge = made[i] + sizes[i] / 2
    edge = ends[1]
    for i in reversed(order):
        made[i] = min(made[i], edge - sizes[i] / 2)
        edge = made[i] - sizes[i] / 2
    return [made[i] for i in range(len(wanted))]


def side_by_side(
    wanted: Sequence[float],
    sizes: Sequence[float],
    ends: tuple[float, float],
    kept: Sequence[tuple[float, float]] = (),
) -> list[float]:
    """Return middles near the wanted ones, clear of each other and of what is to be kept free.

    Parameters
    ----------
    wanted, sizes : sequence of float
        Middle and size of each piece; the first come first.
    ends : tuple of float
        Where they must lie.
    kept : sequence of tuple of float
        Stretches that none may cover.

    Returns
    -------
    list of float
        Middles, in the order given; as `spread` where there is no room to keep clear.
    """
    taken = list(kept)
    made: list[float] = []
    for middle, size in zip(wanted, sizes, strict=True):
        half = size / 2
        edges = [middle, ends[0] + half, ends[1] - half]
        edges += [edge for low, high in taken for edge in (low - half, high + half)]
        free = [
            at for at in edges
            if ends[0] - 1e-6 <= at - half and at + half <= ends[1] + 1e-6
            and all(at + half <= low + 1e-6 or high <= at - half + 1e-6 for low, high in taken)
        ]  # fmt: skip
        if not free:
            return spread(wanted, sizes, ends)
        made.append(min(free, key=lambda at: (abs(at - middle), at)))
        taken.append((made[-1] - half, made[-1] + half))
    return made


def free_place(
    at: tuple[float, float],
    size: tuple[float, float],
    *,
    within: Box,
    taken: Sequence[Box],
    lines: Sequence[tuple[float, float]] = (),
) -> Box | None:
    """Return the nearest free box for a label of a point; None where all is taken.

    Parameters
    ----------
    at : tuple of float
        The point.
    size : tuple of float
        Width and height of the label.
    within : Box
        Where it may stand.
    taken : sequence of Box
        What it may not touch.
    lines : sequence of tuple of float
        Places of drawn lines, which it had better not cover.
    """
    crossed = [(x, y) for x, y in lines if within.holds(x, y)]
    best: tuple[float, Box] | None = None
    for distance, box in _nearest(at, size, within):
        if best is not None and distance >= best[0]:
            break
        if any(box.meets(other) for other in taken):
            continue
        covers = any(box.holds(x, y) for x, y in crossed)
        cost = distance + _CROSSING * (covers + _leads_through(at, box, taken))
        if best is None or cost < best[0]:
            best = cost, box
    return None if best is None else best[1]


def _nearest(
    at: tuple[float, float], size: tuple[float, float], within: Box
) -> Iterator[tuple[float, Box]]:
    """Yield every place for a label with its distance, the nearest first."""
    width, height = size
    lefts = np.array(_starts(within.left, width, within.right))
    bottoms = np.array(_starts(within.bottom, height, within.top))[:, None]
    across = _beyond(at[0], lefts, lefts + width)
    along = _beyond(at[1], bottoms, bottoms + height)
    middle = np.abs((bottoms + (bottoms + height)) / 2 - at[1])
    # beside a point is better than above or below
    distances = (np.sqrt(across**2 + along**2) + 0.05 * middle).ravel()
    for i in np.argsort(distances, kind="stable").tolist():
        row, column = divmod(i, lefts.size)
        left, bottom = float(lefts[column]), float(bottoms[row, 0])
        yield float(distances[i]), Box(left, bottom, left + width, bottom + height)


def _starts(start: float, size: float, end: float) -> list[float]:
    starts = []
    while start + size <= end:
        starts.append(start)
        start += _STEP
    return starts


def _beyond(at: float, low: NDArray[np.float64], high: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return how far a value is from each of many stretches."""
    return np.maximum(np.maximum(low - at, 0.0), at - high)


def _leads_through(at: tuple[float, float], box: Box, taken: Sequence[Box]) -> bool:
    """Whether the way from a point to its label runs through anything else."""
    x, y = min(max(at[0], box.left), box.right), min(max(at[1], box.bottom), box.top)
    steps = int(math.dist(at, (x, y)) / _STEP)
    spots = [(at[0] + (x - at[0]) * k / steps, at[1] + (y - at[1]) * k / steps)
             for k in range(1, steps)]  # fmt: skip
    others = [other for other in taken if not other.holds(*at)]
    return any(other.holds(*spot) for other in others for spot in spots)
