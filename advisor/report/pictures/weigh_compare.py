"""Draws two weighed tests over one axis of flow: what each delivered, and where each falls off.

Shapes differ with the colours: rings for the first, squares for the second.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.report.numbers import figure, flow
from advisor.report.pictures.canvas import draw_foot, draw_upright, inline, set_scale, sheet
from advisor.report.pictures.labels import LINE
from advisor.report.pictures.lettering import Label, label_rows, say
from advisor.report.pictures.svg import Telling, marker
from advisor.weigh import WeighCompareAnswer, WeighedStep, WeighedTest

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw_weigh_compare"]

_MARGINS = (46.0, 20.0, 3 * LINE + 12.0, 40.0)
_FLOOR, _ROOM = 40.0, 3.0  # per cent: nothing lower is to scale; above and below the points
_RIGHT = 1.06
_LOOKS = (("A", "o", "ink", "dashed"), ("B", "s", "gap", "dotted"))


def draw_weigh_compare(report: WeighCompareAnswer) -> str:
    """Return both tests over one axis of flow as one ``<svg>``; '' without tests.

    Parameters
    ----------
    report : WeighCompareAnswer
        What the tests show.
    """
    if not report.tests:
        return ""
    with sheet(_MARGINS) as axes:
        _scale(axes, report)
        rows: list[list[Label]] = []
        for test, (letter, _, colour, dashes) in zip(report.tests, _LOOKS, strict=True):
            if test.knee is not None:
                name = f"knee-{letter}"
                draw_upright(axes, name, test.knee.value, colour=colour, dashes=dashes)
                draw_foot(axes, name, test.knee, colour=colour)
                text = f"{letter} under-extrudes from {flow(test.knee.value)}"
                rows.append([Label(text, test.knee.value, colour)])
        if rows:
            label_rows(axes, rows)
        level = axes.axhline(100.0, color=marker("quiet"), linewidth=1.2)
        level.set_gid("of-level")
        for test, look in zip(report.tests, _LOOKS, strict=True):
            _draw_test(axes, test, look)
        return inline(axes, "weigh-compare", _telling(report))


def _scale(axes: Axes, report: WeighCompareAnswer) -> None:
    steps = [step for test in report.tests for step in test.steps]
    lowest = min(100.0 * (step.ratio - step.expanded_uncertainty) for step in steps)
    highest = max(100.0 * (step.ratio + step.expanded_uncertainty) for step in steps)
    foot = min(max(lowest - _ROOM, _FLOOR), 90.0)
    most = max(step.flow for step in steps)
    set_scale(axes, most * _RIGHT, max(highest, 100.0) + _ROOM, foot=foot)
    axes.yaxis.set_major_formatter("{x:.0f} %")
    axes.set_xlabel("flow in mm3/s")
    words = "delivered, % of the slow run: A ring, B square"
    say(axes, (4.0, axes.bbox.y1 + 7.0 + 2.5 * LINE), words, colour="quiet")


def _draw_test(axes: Axes, test: WeighedTest, look: tuple[str, str, str, str]) -> None:
    letter, shape, name, dashes = look
    colour, foot = marker(name), axes.get_ylim()[0]
    steps = [step for step in test.steps if step.outlier is None]
    flows, ratios = [x.flow for x in steps], [max(100.0 * x.ratio, foot) for x in steps]
    line = axes.plot(flows, ratios, color=colour, linewidth=1.2, linestyle=dashes)
    line[0].set_gid(f"of-{letter}-line")
    for step, ratio in zip(steps, ratios, strict=True):
        reach = 100.0 * step.expanded_uncertainty
        bar = axes.plot([step.flow] * 2, [100.0 * step.ratio - reach, 100.0 * step.ratio + reach],
                        color=colour, linewidth=1.2)  # fmt: skip
        bar[0].set_gid(f"of-{letter}-bar")
        mark = axes.plot(
            [step.flow], [ratio], marker=shape, clip_on=False, color=colour, markersize=7.0,
            markeredgewidth=1.8, markerfacecolor=marker("paper"),
        )  # fmt: skip
        mark[0].set_gid(f"of-{letter}")


def _telling(report: WeighCompareAnswer) -> Telling:
    told = []
    for test, (letter, *_) in zip(report.tests, _LOOKS, strict=True):
        start = "no under-extrusion" if test.knee is None else (
            f"under-extrusion from {flow(test.knee.value)} ({figure(test.knee.low)}-"
            f"{figure(test.knee.high)}) mm3/s")  # fmt: skip
        told.append(f"{letter}, {test.name}: {start}; {'; '.join(map(_told, test.steps))}")
    return Telling("Two weighed tests on one axis of flow", f"{'. '.join(told)}.")


def _told(step: WeighedStep) -> str:
    return f"{flow(step.flow)}: {100 * step.ratio:.1f} %"
