"""A skip test for people: the plan with its cautions; what a test shows."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.report.look import Look
from advisor.report.numbers import RANGE, figure, flow, ranged, share
from advisor.report.page import Page
from advisor.report.weigh_text import clock, write_calibration, write_cap
from advisor.report.words import material_words
from advisor.weigh import (
    SkipLevel,
    SkipPlan,
    SkipPlanAnswer,
    SkipReadAnswer,
    SkipSeenPoint,
    SkipTest,
)

__all__ = ["noticed_words", "render_skip_plan", "render_skip_read"]

FLOW = "mm3/s"
_M = 1e-3  # m in a mm
_LITTLE = 0.95  # a range of which more is left is not narrowed
_USE = "give --skip-test FILE to lint, flow, session, compare and the others"
_GRIP = (
    "this test tells torque and push; the grip needs a pull with a spring scale "
    "(drive.measured_force in the sheet)"
)
_NOTICED = {
    "heard": "heard",
    "seen": "seen",
    "short": "short",
    "unsure": "unsure",
    "none": "no click",
    "slip": "slipped",
}


def render_skip_plan(
    report: SkipPlanAnswer, look: Look | None = None, *, full: bool = False
) -> str:
    """Return a plan, or why there is none, as text; every flow with `full`."""
    page = Page(look or Look(), written=True)
    if report.plan is None:
        page.entry("test", "none is planned", label_style="strong", style="strong")
        for sentence in report.refused:
            page.entry("", sentence)
        for i, sentence in enumerate(report.instead):
            page.entry("" if i else "instead", sentence)
        return page.render() if report.refused else ""
    _write_plan(page, report.plan, report)
    for i, stop in enumerate(report.stops):
        page.entry("" if i else "stop at", stop, label_style="warning")
    for i, caution in enumerate(report.cautions):
        page.entry("" if i else "caution", caution, label_style="warning")
    _write_levels(page, report.plan, full=full)
    for i, words in enumerate(_next(report.plan)):
        page.entry("" if i else "then", words)
    page.entry("", RANGE)
    return page.render()


def _write_plan(page: Page, plan: SkipPlan, report: SkipPlanAnswer) -> None:
    conditions = {**report.conditions}
    conditions["material"] = material_words(conditions["material"])
    currents = ", ".join(f"{level.current:.2f}" for level in plan.levels)
    words = f"{', '.join(conditions.values())} nozzle: raise the flow to the first click at"
    page.entry("test", f"{words} {currents} A RMS", label_style="strong", style="strong")
    for i, line in enumerate(_narrows(plan)):
        page.entry("" if i else "tells", line)
    page.entry(
        "total",
        f"about {figure(plan.filament * _M, 2)} m of filament and {clock(plan.time)} when hot if "
        f"it clicks where expected; at most {figure(plan.most_filament * _M, 2)} m",
    )
    page.entry(
        "current",
        f"only ever below the set {figure(plan.set_current)} A RMS; the last file sets it again, "
        "and so does a firmware restart",
    )
    for remark in report.remarks:
        page.entry("note", remark)


def _narrows(plan: SkipPlan) -> Iterator[str]:
    """Yield what the test would tell on this machine."""
    told = plan.narrows
    if told is None:
        yield _GRIP
        return
    if told.capacity < _LITTLE:
        words = f"leaves about {share(told.capacity)} of the capacity's range here"
    else:
        words = "leaves the capacity's range about as it is here"
    yield f"{words}, {share(told.torque)} of the range of what the motor can push"
    yield _GRIP if plan.bottleneck != "grip" else f"the grip limits here: {_GRIP}"


def _write_levels(page: Page, plan: SkipPlan, *, full: bool) -> None:
    page.heading("Steps")
    page.row(("  step  A RMS  applied   click expected   flows mm3/s", ""))
    for number, level in enumerate(plan.levels, 1):
        page.row((_level_row(number, level), ""))
        if full:
            page.indented(", ".join(f"{one:.2f}" for one in level.flows), 3)
    page.blank()


def _level_row(number: int, level: SkipLevel) -> str:
    band = level.expected
    expected = f"{flow(band.value)} ({figure(band.low)}-{figure(band.high)})"
    ramp = f"{level.flows[0]:.1f} to {level.flows[-1]:.1f}, {len(level.flows)} flows"
    return f"{number:6d}{level.current:7.2f}{level.applied:9.3f}   {expected:<17}{ramp}"


def _next(plan: SkipPlan) -> Iterator[str]:
    yield (
        f"paint a mark on the motor's gear; print the G-code (--gcode FILE gives one file a step) "
        f"{plan.approaches} times each, part fans off"
    )
    yield "at the first click cancel the print, note both flows (--csv FILE), start it again"
    yield "print the file that ends the test; it sets the current of the config again"
    yield "read: feedwright skip-test read FILE --config CONFIG"


def render_skip_read(
    report: SkipReadAnswer, look: Look | None = None, *, full: bool = False
) -> str:
    """Return what tests show as text; every remark with `full`."""
    page = Page(look or Look(), written=True)
    if report.calibration is not None:
        write_cap(page, report.calibration)
        write_calibration(page, report.calibration, use=_USE)
        if report.calibration.contradiction is None:
            _write_limits(page, report)
    for test in report.tests:
        _write_test(page, test, full=full)
    if report.tests:
        page.entry("", RANGE)
    return page.render()


def _write_limits(page: Page, report: SkipReadAnswer) -> None:
    for label, band in (("torque", report.torque), ("grip", report.grip)):
        if band is not None and band.high < float("inf"):
            tail = "" if label == "torque" else f"; {_GRIP}"
            page.entry(label, f"allows {ranged(band, FLOW)}{tail}")


def _write_test(page: Page, test: SkipTest, *, full: bool) -> None:
    page.heading(test.name if test.name == test.file else f"{test.name} ({test.file})")
    page.row(("  A RMS  applied   good   first click   expected mm3/s     runs", ""))
    for point in test.points:
        page.row((_point_row(point), ""))
    page.blank()
    near = ", ".join(f"{point.current:.2f}" for point in test.points if point.near_rotor)
    if near:
        words = "full steps came near to the rotor's own rate: these count for less"
        page.entry("note", f"at {near} A RMS {words}")
    if test.empty_run is not None:
        page.entry("empty run", f"turns from {test.empty_run:.2f} A RMS with the filament out")
    for remark in test.remarks if full else test.remarks[:3]:
        page.entry("note", remark)


def _point_row(point: SkipSeenPoint) -> str:
    first = "none" if point.first_click is None else flow(point.first_click)
    band = point.expected
    expected = "" if band is None else (
        f"{flow(band.value)} ({figure(band.low)}-{figure(band.high)})")  # fmt: skip
    return (
        f"{point.current:7.2f}{point.applied:9.3f}{flow(point.last_good):>7}{first:>14}   "
        f"{expected:<18}{point.runs:2d}, {noticed_words(point)}"
    )


def noticed_words(point: SkipSeenPoint) -> str:
    """Return in words how the clicks of a point were noticed."""
    return " and ".join(_NOTICED[one] for one in point.noticed)
