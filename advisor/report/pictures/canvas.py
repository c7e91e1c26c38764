"""A figure to draw on that nobody's settings reach: no style, locale, cache or backend of the user.

It keeps to itself as well: after drawing, the plotting library's settings are as they were, and
what it has to tell about its caches is not told. The figure is as wide as a phone, so that text
is still read there; the page may show it larger.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from typing import TYPE_CHECKING, Any

from advisor.report.pictures.svg import Telling, finished, marker

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["FONT", "HEIGHT", "WIDTH", "Margins", "available", "inline", "sheet"]

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
