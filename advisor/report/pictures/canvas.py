"""A figure to draw on that nobody's settings reach: no style, locale, cache or backend of the user.

It keeps to itself as well: after drawing, the plotting library's settings are as they were, and
what it has to tell about its caches is not told. The figure is as wide as a phone, so that text
is still read there; the page may show it larger.

The strokes that all pictures share are scales, lines with their bands, and upright marks. A line
differs from its neighbour by its dashes and by the words at its end, never by colour alone.
"""

from __future__ import annotations

import io
import logging
import math
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from importlib import import_module
from typing import TYPE_CHECKING, Any

from advisor.answers import BandLine
from advisor.base import Band
from advisor.report.pictures.svg import Telling, finished, marker

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.ticker import MaxNLocator

__all__ = [
    "DASHES",
    "FONT",
    "HEIGHT",
    "WIDTH",
    "Margins",
    "Points",
    "available",
    "draw_band",
    "draw_foot",
    "draw_line",
    "draw_upright",
    "draw_whisker",
    "few_round",
    "held",
    "inline",
    "places",
    "set_scale",
    "sheet",
]

WIDTH, HEIGHT = 420.0, 300.0  # units of the picture
FONT = 12.0  # the only text size, in the same units
Margins = tuple[float, float, float, float]  # left, right, top, bottom
_LOOK: dict[str, Any] = {
    "svg.fonttype": "none",
    "svg.hashsalt": "feedwright",
    "path.simplify": False,
    "text.parse_math": False,
    "text.usetex": False,
    "font.size": FONT,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.spines.left": False,
    "axes.linewidth": 1.0,
    "axes.axisbelow": True,
    "axes.grid": True,
    "axes.grid.axis": "y",
    "axes.unicode_minus": True,
    "grid.linewidth": 0.6,
    "grid.alpha": 0.45,
    "xtick.major.size": 4.0,
    "xtick.major.width": 1.0,
    "ytick.major.size": 0.0,
    "ytick.major.pad": 5.0,
}
_COLOURS = {
    "ink": ("text.color",),
    "quiet": ("axes.edgecolor", "axes.labelcolor", "xtick.color", "xtick.labelcolor",
              "ytick.color", "ytick.labelcolor", "grid.color"),
}  # fmt: skip
_BEYOND = 4.0  # times the scale: as far as a line is drawn on, out of sight
_BAND = 0.16
_BAR, _BAR_STRENGTH, _INSET = 5.0, 0.4, 5.0  # a band drawn as a bar
_CLOSE = 5.0  # between the points along a line that labels keep clear of
Points = Sequence[tuple[float, float]]
DASHES: dict[str, Any] = {
    "solid": "solid",
    "dashed": (0, (5, 3)),
    "dotted": (0, (1.2, 2.4)),
    "mixed": (0, (7, 2.5, 1.5, 2.5)),
}


def available() -> bool:
    """Whether pictures can be drawn here: the plotting library is there and starts."""
    with _quiet():
        try:
            import_module("matplotlib.figure")
            import_module("matplotlib.backends.backend_svg")
        except (ImportError, OSError):
            return False
    return True


@contextmanager
def sheet(margins: Margins, *, height: float = HEIGHT) -> Iterator[Axes]:
    """Yield axes on a figure of their own, to draw on and hand to `inline`.

    Parameters
    ----------
    margins : tuple of float
        Left, right, top and bottom, in units of the picture.
    height : float
        Of the picture, in the same units.
    """
    left, right, top, bottom = margins
    with _quiet():
        import matplotlib as mpl
        from matplotlib.backends.backend_svg import FigureCanvasSVG
        from matplotlib.figure import Figure

        with mpl.rc_context():
            mpl.rcdefaults()
            colours = {key: marker(name) for name, keys in _COLOURS.items() for key in keys}
            settings: dict[Any, Any] = {**_LOOK, **colours}
            mpl.rcParams.update(settings)
            figure = Figure(figsize=(WIDTH / 72, height / 72), dpi=72)
            FigureCanvasSVG(figure)
            figure.patch.set_visible(False)
            box = (left, bottom, WIDTH - left - right, height - top - bottom)
            shares = (box[0] / WIDTH, box[1] / height, box[2] / WIDTH, box[3] / height)
            axes: Axes = figure.add_axes(shares)
            axes.patch.set_visible(False)
            axes.spines["bottom"].set_gid("of-foot")
            yield axes


def inline(axes: Axes, kind: str, telling: Telling) -> str:
    """Return the figure of the axes as one element for the page.

    Parameters
    ----------
    axes : Axes
        Of `sheet`, which is still open.
    kind : str
        Of the picture: ids begin with it.
    telling : Telling
        What it is called and what it shows, in words.
    """
    figure: Any = axes.figure
    text = io.StringIO()
    figure.canvas.print_svg(text, metadata={"Date": None})
    return finished(text.getvalue(), kind, telling)


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep what the library logs about caches and settings away from the user."""
    logger = logging.getLogger("matplotlib")
    before = logger.level
    logger.setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        logger.setLevel(before)


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


def few_round() -> MaxNLocator:
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
