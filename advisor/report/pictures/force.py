"""Draws force against flow: what the hotend needs, and what motor, grip and gap can give."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from advisor.answers import BandLine, ForceReport
from advisor.base import Band
from advisor.report.numbers import flow, ranged
from advisor.report.pictures.canvas import (
    draw_band,
    draw_foot,
    draw_line,
    draw_upright,
    draw_whisker,
    inline,
    places,
    set_scale,
    sheet,
)
from advisor.report.pictures.labels import LINE
from advisor.report.pictures.lettering import Label, label_ends, label_line, label_rows, say
from advisor.report.pictures.svg import Telling

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw_force"]

_MARGINS = (34.0, 112.0, 3 * LINE + 12.0, 40.0)
_ROOM = 1.15
_FAR = 5.0  # times the lowest level: what lies higher is told at the edge, not drawn
_LINES = {  # field: words, colour, dashes, width
    "usable": ("motor, usable", "motor", "solid", 2.0),
    "stall": ("motor skips", "motor", "dashed", 1.4),
}
_STRENGTHS = {"usable": 0.16, "stall": 0.08}
_LEVELS = {
    "grip_usable": ("grip, usable", "grip", "solid", 2.0),
    "grip": ("slips", "grip", "dashed", 1.4),
    "buckling": ("gap buckles", "gap", "mixed", 1.6),
}
_MARKS = {  # field: words, colour, dashes, row
    "capacity": ("capacity", "ink", "solid", 1),
    "asked": ("requested", "ask", "dashed", 1),
    "melt": ("melt", "melt", "mixed", 0),
    "heater": ("heater", "heater", "dotted", 0),
}


def draw_force(report: ForceReport) -> str:
    """Return force against flow as one ``<svg>``; '' where the lines are not known.

    Parameters
    ----------
    report : ForceReport
        What was worked out.
    """
    needed, usable, stall = report.needed, report.usable, report.stall
    if not report.flows or needed is None or usable is None or stall is None:
        return ""
    with sheet(_MARGINS) as axes:
        set_scale(axes, report.flows[-1], _top(report, usable, stall))
        axes.set_xlabel("flow in mm3/s")
        say(axes, (4.0, axes.bbox.y1 + 7.0 + 2.5 * LINE), "push on the filament in N",
            colour="quiet")  # fmt: skip
        _draw_marks(axes, report)
        for name, line in (("stall", stall), ("usable", usable)):
            _, colour, dashes, width = _LINES[name]
            strength = _STRENGTHS[name]
            draw_band(axes, name, report.flows, line, colour=colour, strength=strength)
            draw_line(axes, name, (report.flows, line.value), colour=colour, dashes=dashes,
                      width=width)  # fmt: skip
        _draw_levels(axes, report)
        draw_band(axes, "needed", report.flows, needed, colour="need")
        draw_line(axes, "needed", (report.flows, needed.value), colour="need", width=2.6)
        label_line(axes, "needed", (report.flows, needed.value), colour="need",
                   among=_drawn(axes, report))  # fmt: skip
        label_ends(axes, list(_ends(report, axes.get_ylim()[1])))
        return inline(axes, "force", _telling(report))


def _top(report: ForceReport, usable: BandLine, stall: BandLine) -> float:
    """Return the top of the scale: above all levels but those far above the lowest."""
    levels = [usable.value[0], stall.value[0]]
    levels += [level.value for name in _LEVELS if (level := getattr(report, name)) is not None]
    lowest = max(min(levels), 0.1)
    return _ROOM * max([lowest, *(level for level in levels if level <= _FAR * lowest)])


def _draw_marks(axes: Axes, report: ForceReport) -> None:
    rows: dict[int, list[Label]] = {}
    for name, (words, colour, dashes, row) in _MARKS.items():
        mark: Band | None = getattr(report, name)
        if mark is None:
            continue
        draw_upright(axes, name, mark.value, colour=colour, dashes=dashes)
        if name == "capacity":
            draw_foot(axes, name, mark, colour=colour)
        on = " \u2192" if mark.value > axes.get_xlim()[1] else ""
        label = Label(f"{words} {flow(mark.value)}{on}", mark.value, colour)
        rows.setdefault(row, []).append(label)
    label_rows(axes, [rows.get(row, []) for row in (1, 0)])


def _draw_levels(axes: Axes, report: ForceReport) -> None:
    ends = (0.0, report.flows[-1])
    for place, (name, (_, colour, dashes, width)) in enumerate(_LEVELS.items()):
        level: Band | None = getattr(report, name)
        if level is None or level.value > axes.get_ylim()[1]:
            continue
        draw_line(axes, name, (ends, (level.value,) * 2), colour=colour, dashes=dashes,
                  width=width)  # fmt: skip
        draw_whisker(axes, name, level, colour=colour, inset=7.0 + 8.0 * place)


def _drawn(axes: Axes, report: ForceReport) -> list[list[tuple[float, float]]]:
    """Return all lines but the needed one, as points close to each other."""
    right, top = axes.get_xlim()[1], axes.get_ylim()[1]
    across, up = (0.0, right), (0.0, top)
    levels = [level.value for name in _LEVELS if (level := getattr(report, name)) is not None]
    marks = [mark.value for name in _MARKS if (mark := getattr(report, name)) is not None]
    lines = [line.value for name in _LINES if (line := getattr(report, name)) is not None]
    return [
        *(list(places(axes, (across, (level, level)))) for level in levels if level <= top),
        *(list(places(axes, ((mark, mark), up))) for mark in marks if mark <= right),
        *(list(places(axes, (report.flows, line))) for line in lines),
    ]


def _ends(report: ForceReport, top: float) -> Iterator[Label]:
    for name, (words, colour, _, _) in {**_LINES, **_LEVELS}.items():
        shown: BandLine | Band | None = getattr(report, name)
        if shown is None:
            continue
        at = shown.value[-1] if isinstance(shown, BandLine) else shown.value
        up = " \u2191" if at > top else ""
        yield Label(f"{words}{up}", at, colour)


def _telling(report: ForceReport) -> Telling:
    whose = f" of {report.extruder}" if report.extruder else ""
    flows = [
        f"{words} {ranged(mark, 'mm3/s')}"
        for name, (words, *_) in _MARKS.items()
        if (mark := getattr(report, name)) is not None
    ]
    levels = [
        f"{words} {ranged(level, 'N')}"
        for name, (words, *_) in _LEVELS.items()
        if (level := getattr(report, name)) is not None
    ]
    levels += [f"{words} {ranged(_first(getattr(report, name)), 'N')} at standstill"
               for name, (words, *_) in _LINES.items()]  # fmt: skip
    return Telling(
        f"Force against flow{whose}",
        f"Flows: {'; '.join(flows)}. Forces: {'; '.join(levels)}."
        + (f" The bottleneck is {report.bottleneck}." if report.bottleneck else ""),
    )


def _first(line: BandLine) -> Band:
    return Band(line.value[0], line.low[0], line.high[0])
