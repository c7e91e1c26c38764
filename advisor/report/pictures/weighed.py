"""Draws a weighed test: what each flow delivered, and where under-extrusion starts.

Shapes differ: a ring where all is delivered, a cross where the motor skipped, a wedge where that
is unsure, a square where a flow was left out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from advisor.report.numbers import figure, flow
from advisor.report.pictures.canvas import draw_foot, draw_upright, inline, set_scale, sheet
from advisor.report.pictures.labels import LINE, Box
from advisor.report.pictures.lettering import Label, label_rows, name_spot, say
from advisor.report.pictures.svg import Telling, marker
from advisor.weigh import Evaluation, Step, trade

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw_weighed"]

_MM3 = 1e9
_MARGINS = (46.0, 20.0, 2 * LINE + 12.0, 40.0)
_FLOOR, _ROOM = 40.0, 3.0  # per cent: nothing lower is to scale; above and below the points
_RIGHT = 1.06
_SHAPES = {  # kind: shape, colour, words
    "whole": ("o", "ink", "delivered"),
    "skipped": ("x", "ask", "skipped"),
    "unsure": ("^", "ask", "perhaps skipped"),
    "left-out": ("s", "quiet", "left out"),
}


def draw_weighed(test: Evaluation) -> str:
    """Return delivery against flow as one ``<svg>``; '' for a test without steps.

    Parameters
    ----------
    test : Evaluation
        What the test shows.
    """
    if not test.steps:
        return ""
    with sheet(_MARGINS) as axes:
        _scale(axes, test)
        knee = trade(test.knee, "mm3/s")
        if knee is not None:
            draw_upright(axes, "knee", knee.value, colour="gap", dashes="dashed")
            draw_foot(axes, "knee", knee, colour="gap")
            on = " \u2192" if knee.value > axes.get_xlim()[1] else ""
            label = Label(f"under-extrusion from {flow(knee.value)}{on}", knee.value, "gap")
            label_rows(axes, [[label]])
        level = axes.axhline(100.0, color=marker("quiet"), linewidth=1.2)
        level.set_gid("of-level")
        for step in test.steps:
            _draw_step(axes, step)
        _name_shapes(axes, test)
        return inline(axes, "weighed", _telling(test))


def _scale(axes: Axes, test: Evaluation) -> None:
    lowest = min(100.0 * (step.ratio - step.expanded) for step in test.steps)
    highest = max(100.0 * (step.ratio + step.expanded) for step in test.steps)
    foot = min(max(lowest - _ROOM, _FLOOR), 90.0)
    most = max(step.flow for step in test.steps) * _MM3
    set_scale(axes, most * _RIGHT, max(highest, 100.0) + _ROOM, foot=foot)
    axes.yaxis.set_major_formatter("{x:.0f} %")
    axes.set_xlabel("flow in mm3/s")
    say(axes, (4.0, axes.bbox.y1 + 7.0 + 1.5 * LINE), "delivered, % of the slow run",
        colour="quiet")  # fmt: skip


def _kind(step: Step) -> str:
    if step.outlier is not None:
        return "left-out"
    return {"yes": "skipped", "unsure": "unsure"}.get(step.skipped, "whole")


def _draw_step(axes: Axes, step: Step) -> None:
    """Draw a flow with its uncertainty; what is below the scale stands at its foot."""
    kind = _kind(step)
    shape, name, _ = _SHAPES[kind]
    colour, foot = marker(name), axes.get_ylim()[0]
    x, ratio, reach = step.flow * _MM3, 100.0 * step.ratio, 100.0 * step.expanded
    bar = axes.plot([x, x], [ratio - reach, ratio + reach], color=colour, linewidth=1.3)
    bar[0].set_gid(f"of-{kind}-bar")
    looks: dict[str, Any] = {"color": colour, "markersize": 8.0, "markeredgewidth": 1.8}
    if shape != "x":
        looks["markerfacecolor"] = marker("paper")
    mark = axes.plot([x], [max(ratio, foot)], marker=shape, clip_on=False, **looks)
    mark[0].set_gid(f"of-{kind}")


def _name_shapes(axes: Axes, test: Evaluation) -> None:
    """Write beside the first of each shape what it means."""
    box = axes.bbox
    within = Box(box.x0 + 4.0, box.y0 + 14.0, box.x1 + _MARGINS[1] - 2.0, box.y1 - 2.0)
    spots = {step: _spot(axes, step) for step in test.steps}
    taken = [_around(axes, step, spot) for step, spot in spots.items()]
    level = float(axes.transData.transform((0.0, 100.0))[1])
    lines = [(box.x0 + 3.0 * i, level) for i in range(int(box.width / 3.0))]
    told: set[str] = set()
    for step, spot in spots.items():
        kind = _kind(step)
        if kind in told:
            continue
        told.add(kind)
        _, colour, words = _SHAPES[kind]
        taken += name_spot(
            axes, words, spot, colour=colour, within=within, taken=taken, lines=lines
        )


def _spot(axes: Axes, step: Step) -> tuple[float, float]:
    held = max(100.0 * step.ratio, axes.get_ylim()[0])
    x, y = axes.transData.transform((step.flow * _MM3, held))
    return float(x), float(y)


def _around(axes: Axes, step: Step, spot: tuple[float, float]) -> Box:
    foot, top = axes.get_ylim()
    reach = 100.0 * step.expanded * axes.bbox.height / (top - foot)
    half = max(reach, 6.0)
    return Box(spot[0] - 6.0, spot[1] - half, spot[0] + 6.0, spot[1] + half)


def _telling(test: Evaluation) -> Telling:
    knee = trade(test.knee, "mm3/s")
    start = "No under-extrusion" if knee is None else (
        f"Under-extrusion starts at {flow(knee.value)} ({figure(knee.low)}-{figure(knee.high)}) "
        "mm3/s"
    )  # fmt: skip
    steps = "; ".join(_told(step) for step in test.steps)
    return Telling(
        f"Weighed flow test: {test.name}",
        f"{start}. Flow in mm3/s and what was delivered, % of the slow run: {steps}.",
    )


def _told(step: Step) -> str:
    after = {"skipped": " skipped", "unsure": " perhaps skipped", "left-out": " left out"}
    return f"{flow(step.flow * _MM3)}: {100 * step.ratio:.1f} %{after.get(_kind(step), '')}"
