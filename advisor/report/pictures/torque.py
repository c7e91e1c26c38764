"""Draws torque against motor speed: what there is, what is needed, and where the motor is run."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from operator import mul
from typing import TYPE_CHECKING, Any

from advisor.answers import LEVEL, OperatingPoint, TorqueReport
from advisor.report.numbers import figure, ranged
from advisor.report.pictures.canvas import (
    Points,
    draw_band,
    draw_line,
    draw_upright,
    few_round,
    inline,
    places,
    set_scale,
    sheet,
)
from advisor.report.pictures.labels import LINE, Box
from advisor.report.pictures.lettering import (
    Label,
    label_ends,
    label_line,
    label_rows,
    name_spot,
    say,
)
from advisor.report.pictures.svg import Telling, marker

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw_torque"]

_HEIGHT = 330.0
_MARGINS = (34.0, 78.0, 3 * LINE + 12.0, 70.0)
_HEADROOM = 1.12
_NEAR = 1.5  # times the torque there is: needs above that are told at the edge
_LINES = {  # field: words, colour, dashes, width, strength of the band
    "skip": ("skips", "motor", "dashed", 1.4, 0.08),
    "usable": ("usable", "motor", "solid", 2.0, 0.16),
}
_NAMES = {
    "capacity": "at capacity",
    "asked": "requested flow",
    "print-peak": "print peak",
    "advance": "advance",
    "retract": "retract",
    "profile-retract": "profile retract",
    "extrude-only": "extrude-only limit",
}
_ZONES = (("trusted", 0.0), ("less sure", 0.10), ("not trusted", 0.18))
_SECOND = -34.0  # of the second scale below the first
_MARK = 5.0  # half of what a point takes


def draw_torque(report: TorqueReport) -> str:
    """Return torque against motor speed as one ``<svg>``; '' where the lines are not known.

    Parameters
    ----------
    report : TorqueReport
        What was worked out.
    """
    skip, usable, needed = report.skip, report.usable, report.needed
    if not report.speeds or skip is None or usable is None or needed is None:
        return ""
    with sheet(_MARGINS, height=_HEIGHT) as axes:
        set_scale(axes, report.speeds[-1], _top(report))
        _scales(axes, report)
        _draw_zones(axes, report)
        for name, (_, colour, dashes, width, strength) in _LINES.items():
            line = getattr(report, name)
            draw_band(axes, name, report.speeds, line, colour=colour, strength=strength)
            draw_line(axes, name, (report.speeds, line.value), colour=colour, dashes=dashes,
                      width=width)  # fmt: skip
        draw_band(axes, "needed", report.speeds, needed, colour="need")
        draw_line(axes, "needed", (report.speeds, needed.value), colour="need", width=2.6)
        shown = (skip, usable, needed)
        _draw_points(axes, report, [places(axes, (report.speeds, x.value)) for x in shown])
        return inline(axes, "torque", _telling(report))


def _top(report: TorqueReport) -> float:
    """Return the top of the scale: above the torque there is, and above needs near to it."""
    assert report.skip is not None
    most = max(report.skip.value)
    near = [p.needed.value for p in report.points if p.needed.value < _NEAR * most]
    return max([most, *near, 1e-6]) * _HEADROOM


def _scales(axes: Axes, report: TorqueReport) -> None:
    """Write what the scales are; the filament's speed stands below the motor's."""
    box = axes.bbox
    say(axes, (4.0, box.y1 + 7.0 + 2.5 * LINE), "torque in mN m", colour="quiet")
    axes.set_xlabel("motor, turns per second", labelpad=1.0)
    travel: Any = report.filament_speeds[-1] / report.speeds[-1]
    second: Any = axes.secondary_xaxis(
        _SECOND / box.height,
        functions=(functools.partial(mul, travel), functools.partial(mul, 1.0 / travel)),
    )
    second.patch.set_visible(False)
    second.xaxis.set_major_locator(few_round())
    second.set_xlabel("filament, mm/s", labelpad=1.0)


def _draw_zones(axes: Axes, report: TorqueReport) -> None:
    """Shade how far the model is trusted, in shares of the corner speed, with words."""
    corner, right = report.corner_speed, axes.get_xlim()[1]
    if corner is None or report.trusted_share is None or report.limit_share is None:
        return
    ends = [0.0, report.trusted_share * corner.value, report.limit_share * corner.value, right]
    words: list[Label] = []
    for (text, strength), low, high in zip(_ZONES, ends, ends[1:], strict=False):
        if low >= right:
            break
        shown = min(high, right)
        if strength:
            span = axes.axvspan(low, shown, color=marker("quiet"), alpha=strength, linewidth=0.0)
            span.set_gid("of-" + text.replace(" ", "-"))
        words.append(Label(text, (low + shown) / 2, "quiet"))
    draw_upright(axes, "corner", corner.value, colour="ink", dashes="dotted")
    on = " \u2192" if corner.value > right else ""
    label_rows(axes, [[Label(f"corner speed {figure(corner.value)}{on}", corner.value, "ink")],
                      words], bare=(1,))  # fmt: skip


def _draw_points(axes: Axes, report: TorqueReport, lines: Sequence[Points]) -> None:
    """Draw each point, and its name where it covers nothing."""
    spots = [_spot(axes, point) for point in report.points]
    taken = [Box(x - _MARK, y - _MARK, x + _MARK, y + _MARK) for x, y in spots]
    taken += label_ends(axes, [
        Label(words, getattr(report, name).value[-1], colour)
        for name, (words, colour, *_) in _LINES.items()
    ])  # fmt: skip
    box, top = axes.bbox, axes.get_ylim()[1]
    within = Box(box.x0 + 2.0, box.y0 + 2.0, box.x1 + _MARGINS[1] - 4.0, box.y1 - 2.0)
    drawn = [*(place for line in lines for place in line), *_bars(axes, report)]
    assert report.needed is not None
    curve = (report.speeds, report.needed.value)
    taken += label_line(axes, "needed", curve, colour="need", among=[drawn], taken=taken)
    for point, spot in zip(report.points, spots, strict=True):
        _draw_point(axes, point, spot)
        text, colour = _words(point, top), _colour(point)
        taken += name_spot(axes, text, spot, colour=colour, within=within, taken=taken, lines=drawn)


def _bars(axes: Axes, report: TorqueReport) -> Iterator[tuple[float, float]]:
    """Yield places along the bands of the points."""
    top = axes.get_ylim()[1]
    for point in report.points:
        up = (point.needed.low, min(point.needed.high, top))
        if up[0] < top:
            yield from places(axes, ((point.motor_speed.value,) * 2, up))


def _spot(axes: Axes, point: OperatingPoint) -> tuple[float, float]:
    """Return where a point stands, in units of the picture; off the top, at the top."""
    box, right, top = axes.bbox, axes.get_xlim()[1], axes.get_ylim()[1]
    x = box.x0 + min(point.motor_speed.value / right, 1.0) * box.width
    return x, box.y0 + min(point.needed.value / top, 1.0) * box.height - (
        _MARK if point.needed.value > top else 0.0
    )


def _colour(point: OperatingPoint) -> str:
    return "ask" if point.needed.value > point.usable.value else "ink"


def _draw_point(axes: Axes, point: OperatingPoint, spot: tuple[float, float]) -> None:
    """Draw a disc where it is asked, a ring where it is a limit, a wedge if it is off the top."""
    top = axes.get_ylim()[1]
    colour = marker(_colour(point))
    shape = "^" if point.needed.value > top else "o"
    if point.needed.low < top and point.needed.high > point.needed.low:
        bar = axes.plot(
            [point.motor_speed.value] * 2,
            [point.needed.low, min(point.needed.high, 2.0 * top)],
            color=colour, linewidth=1.2, alpha=0.5,
        )  # fmt: skip
        bar[0].set_gid(f"of-{point.name}-band")
    mark = axes.plot(
        [spot[0]], [spot[1]], marker=shape, color=colour, markersize=7.0, markeredgewidth=1.6,
        markerfacecolor=colour if point.asked else marker("paper"), transform=None, clip_on=False,
    )  # fmt: skip
    mark[0].set_gid(f"of-{point.name}")


def _words(point: OperatingPoint, top: float) -> str:
    name = _NAMES.get(point.name, point.name)
    if point.needed.value > top:
        return f"{name} {figure(point.needed.value)} \u2191"
    if point.needed.value > point.skip.value * LEVEL:
        return f"{name}: skips"
    return f"{name}: too much" if point.needed.value > point.usable.value * LEVEL else name


def _telling(report: TorqueReport) -> Telling:
    whose = f" of {report.extruder}" if report.extruder else ""
    corner = report.corner_speed
    told = "" if corner is None else f"Corner speed {ranged(corner, '1/s')}. "
    return Telling(
        f"Torque against motor speed{whose}",
        f"{told}Torque needed and usable: {'; '.join(_told(report.points))}.",
    )


def _told(points: tuple[OperatingPoint, ...]) -> Iterator[str]:
    for point in points:
        yield (
            f"{point.title} at {ranged(point.motor_speed, '1/s')} needs "
            f"{ranged(point.needed, 'mN m')} of {ranged(point.usable, 'mN m')}"
        )
