"""Draws the time of a print at each cap: an upright a cap, the part that is held by it thick."""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.answers import CappedTime, DemandReport
from advisor.report.caps_text import clock, saving_words
from advisor.report.numbers import figure, flow, share
from advisor.report.pictures.canvas import draw_foot, draw_upright, inline, set_scale, sheet
from advisor.report.pictures.labels import LINE
from advisor.report.pictures.lettering import Label, label_rows, say
from advisor.report.pictures.svg import Telling, marker

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw_caps"]

_MARGINS = (46.0, 20.0, 3 * LINE + 12.0, 40.0)
_ROOM, _RIGHT = 1.08, 1.06
_MINUTES, _HOURS = 600.0, 7200.0  # s, from which times are drawn in minutes, in hours
_DOT, _BAR = 6.0, 7.0


def draw_caps(report: DemandReport) -> str:
    """Return the time over the cap as one ``<svg>``; '' where fewer than two times are known.

    Parameters
    ----------
    report : DemandReport
        What a print asks, with its caps.
    """
    rows = [] if report.caps is None else [row for row in report.caps.rows if row.time is not None]
    if len(rows) < 2:
        return ""
    unit, seconds = _unit(max(row.time or 0.0 for row in rows))
    with sheet(_MARGINS) as axes:
        longest = max(row.time or 0.0 for row in rows) / seconds
        set_scale(axes, max(row.flow for row in rows) * _RIGHT, longest * _ROOM)
        axes.set_xlabel("every flow held to, mm3/s")
        words = f"time in {unit}: thick, held by the cap; thin, all else"
        say(axes, (4.0, axes.bbox.y1 + 7.0 + 2.5 * LINE), words, colour="quiet")
        for row in rows:
            _draw_row(axes, row, seconds)
        if report.capacity is not None:
            draw_foot(axes, "capacity", report.capacity, colour="ink")
            draw_upright(axes, "capacity", report.capacity.value, colour="ink", dashes="dashed")
            if report.capacity.value <= axes.get_xlim()[1]:
                label = Label(
                    f"capacity {flow(report.capacity.value)}", report.capacity.value, "ink"
                )
                label_rows(axes, [[label]])
        return inline(axes, "caps", _telling(report, rows))


def _unit(longest: float) -> tuple[str, float]:
    if longest >= _HOURS:
        return "hours", 3600.0
    return ("minutes", 60.0) if longest >= _MINUTES else ("seconds", 1.0)


def _draw_row(axes: Axes, row: CappedTime, seconds: float) -> None:
    time = (row.time or 0.0) / seconds
    held = time * (row.held or 0.0)
    whole = axes.plot([row.flow] * 2, [0.0, time], color=marker("need"), linewidth=1.4)
    whole[0].set_gid("of-all-else")
    part = axes.plot(
        [row.flow] * 2, [0.0, held], color=marker("need"), linewidth=_BAR, solid_capstyle="butt"
    )
    part[0].set_gid("of-held")
    mark = axes.plot(
        [row.flow], [time], marker="o", color=marker("need"), markersize=_DOT, clip_on=False,
        markerfacecolor=marker("paper"), markeredgewidth=1.6,
    )  # fmt: skip
    mark[0].set_gid("of-time")


def _telling(report: DemandReport, rows: list[CappedTime]) -> Telling:
    assert report.caps is not None
    told = "; ".join(
        f"{figure(row.flow)} mm3/s: {clock(row.time or 0.0)}, {share(row.held or 0.0)} held"
        for row in rows
    )
    return Telling(
        f"Time of {report.path} with every flow held to a cap",
        f"{saving_words(report.caps, report.time)}. {told}.",
    )
