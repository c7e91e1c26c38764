"""Draws what the page draws itself: the strand of a stage on its scale, the neck, spool, nozzle.

A strand is filled as far as the limit is all but certain and hollow to its high end; a ring marks
the value, a dashed line the asked flow. Every number drawn stands beside it in words.
"""

from __future__ import annotations

import math

from advisor.base import Band, frozen
from advisor.report.html.layout import Markup, element
from advisor.report.numbers import figure, flow, ranged

__all__ = ["PageScale", "axis", "legend", "neck", "nozzle", "spool", "strand"]

_FULL = 40.0  # of the 48 units across, a filament as wide as the scale's top
_THINNEST = 2.0
_MIDDLE = 24.0


@frozen
class PageScale:
    """Flow in mm3/s from 0 to `top`, with the asked flow."""

    top: float
    asked: float | None

    def place(self, value: float) -> float:
        """Return where a flow lies, in per cent of the scale and not beyond it."""
        return 100.0 if math.isinf(value) else round(min(100.0, 100.0 * value / self.top), 2)

    def width(self, value: float) -> float:
        """Return how wide a filament of this flow is drawn."""
        return round(max(_THINNEST, _FULL * self.place(value) / 100.0), 2)


def strand(scale: PageScale, stage: str, band: Band | None, *, words: str | None = None) -> Markup:
    """Return the bar of a stage, described by `words`; without a band only what is asked."""
    drawn: list[Markup] = []
    if band is not None:
        low, high = scale.place(band.low), scale.place(band.high)
        drawn = [
            element("rect", x="0%", y=9, width=f"{high}%", height=10, class_="maybe"),
            element("rect", x="0%", y=9, width=f"{low}%", height=10, class_="sure"),
        ]
        if band.value <= scale.top:
            at = scale.place(band.value)
            drawn.append(element("circle", cx=f"{at}%", cy=14, r=5, class_="nominal"))
        if band.high > scale.top:
            drawn.append(element("text", "\u25b6", x="100%", dx=4, y=18.5, class_="on"))
    if scale.asked is not None and scale.asked <= scale.top:
        at = scale.place(scale.asked)
        drawn.append(element("line", x1=f"{at}%", x2=f"{at}%", y1=0, y2=28, class_="asked"))
    title = element("title", words or f"{stage}: {_in_words(scale, band)}")
    return element("svg", title, *drawn, class_=f"bar of-{stage}", role="img",
                   height=28, width="100%")  # fmt: skip


def _in_words(scale: PageScale, band: Band | None) -> str:
    asked = "" if scale.asked is None else f"; requested flow {flow(scale.asked)} mm3/s"
    if band is None:
        return f"no flow limit known{asked}"
    return f"typical {ranged(band, 'mm3/s')}{asked}"


def axis(scale: PageScale) -> Markup:
    """Return the numbers above the strands."""
    ends = (0.0, scale.top / 2, scale.top)
    return element("div", *(element("span", figure(end)) for end in ends), class_="axis")


def neck(scale: PageScale, stage: str, above: float, here: float) -> Markup:
    """Return the filament beside a stage: as wide as what gets through, the neck the narrowest."""
    over, own = scale.width(above) / 2, scale.width(here) / 2
    left = f"M{_MIDDLE - over:g} 0C{_MIDDLE - over:g} 14 {_MIDDLE - own:g} 14 {_MIDDLE - own:g} 28"
    right = f"C{_MIDDLE + own:g} 14 {_MIDDLE + over:g} 14 {_MIDDLE + over:g} 0"
    drawn = [
        element("path", d=f"{left}V100H{_MIDDLE + own:g}V28{right}Z", class_="passes"),
    ]
    if scale.asked is not None:
        half = min(_MIDDLE - 0.5, scale.width(scale.asked) / 2)
        edges = f"M{_MIDDLE - half:g} 0V100M{_MIDDLE + half:g} 0V100"
        drawn.append(element("path", d=edges, class_="asked"))
    return element(
        "svg", element("title", f"{stage}: width of the filament by flow"), *drawn,
        class_="neck", viewBox="0 0 48 100", preserveAspectRatio="none", aria_hidden="true",
    )  # fmt: skip


def legend(asked: bool) -> Markup:
    """Return what the marks of the strands mean."""
    marks = [("sure", "low end"), ("maybe", "range"), ("nominal", "typical")]
    marks += [("asked", "requested flow")] if asked else []
    parts = [element("span", element("i", class_=f"key {mark}"), words) for mark, words in marks]
    on = element("span", element("b", "\u25b6", aria_hidden="true"), " off the scale")
    return element("p", *parts, on, class_="legend")


def spool() -> Markup:
    """Return the spool at the head of the page, from which the filament runs down."""
    return element(
        "svg", element("title", "a spool of filament"),
        element("rect", x=0, y=-2, width=24, height=40, class_="cover"),
        element("circle", cx=34, cy=34, r=31, class_="flange"),
        *(element("circle", cx=34, cy=34, r=r, class_="wound") for r in (23.8, 20.2, 16.6, 13)),
        element("circle", cx=34, cy=34, r=7.5, class_="flange"),
        element("path", d="M10.2 34V96", class_="leaves"),
        class_="spool", viewBox="0 0 68 96", width=68, height=96, aria_hidden="true",
    )  # fmt: skip


def nozzle() -> Markup:
    """Return the nozzle at the foot of the page, with the line it lays."""
    return element(
        "svg", element("title", "a nozzle laying a line"),
        element("path", d="M8 -40V14", class_="leaves"),
        element("path", d="M-6 14H22V26L13 38H3L-6 26Z", class_="block"),
        element("path", d="M8 38V44Q8 47 12 47H150", class_="laid"),
        class_="nozzle", viewBox="-8 0 160 52", width=160, height=52, aria_hidden="true",
    )  # fmt: skip
