"""A weighed test for people: the plan with its cautions; what a test shows, with a picture.

The picture has a row a flow, a point with its uncertainty on a scale. Every number drawn stands
beside it in words; the line at the slow run's level is for the eye.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from advisor.base import Band
from advisor.report.look import Look
from advisor.report.numbers import RANGE, figure, flow, ranged, share
from advisor.report.page import LABEL, Page
from advisor.report.weigh_hand import fed_words, hand_words, ruler_words
from advisor.report.words import material_words
from advisor.weigh import (
    Calibration,
    Contrast,
    Evaluation,
    Plan,
    PlanReport,
    PlanStep,
    Step,
    WeighReport,
    trade,
)

__all__ = [
    "BOTTLENECK",
    "KEEP",
    "KIND",
    "LOSS",
    "clean_words",
    "clock",
    "limit_words",
    "loss_words",
    "render_plan",
    "render_read",
    "skip_words",
    "slow_words",
    "write_calibration",
    "write_cap",
    "write_picture",
]

_NUMBERS, _SKIPPED = 17, 9  # columns of ratio and uncertainty, and of skipped
_FEWEST_CELLS = 16
_FLOOR = 0.4  # nothing below this is drawn to scale
_STEP = 0.05
_SKIP_WORDS = {"yes": "skipped", "no": "", "unsure": "unsure"}
_DRAWN = {"band": "\u2500", "level": "\u2502", "level on band": "\u253c"}
_ASCII = {"band": "-", "level": "|", "level on band": "|"}
KIND = {"slip": "slipping", "melt": "a cold core", "skip": "skipping", "buckle": "buckling"}
BOTTLENECK = {
    "torque": "the motor",
    "grip": "the grip",
    "buckling": "the unsupported gap",
    "melt": "the melt zone",
    "heater": "the heater",
}
KEEP = "keep it in flow-tests/ beside the config, or give --weighed FILE"
FLOW = "mm3/s"
_MM, _MM3 = 1e3, 1e9
_NO_DROOP = 0.003  # a droop that may be less than this is not told
_TOLD = 0.01  # odds below this are not told
_OWN_NOTE = "slow reference"  # as the table to fill in has it
_MUCH = 10.0  # m of filament from which the plan says first what would save some
_NOTES = 3  # remarks of the table that are told without --full
_SMALL = 0.01  # a slow run this near to what was commanded is not discussed


def write_picture(page: Page, test: Evaluation) -> None:
    """Write the rows of a test, with the knee between them."""
    page.heading("Delivered, % of the slow run, +- (95 %)")
    cells = page.look.width - LABEL - _NUMBERS - _SKIPPED - 1
    drawn = page.look.bars and cells >= _FEWEST_CELLS
    low, high = _scale(test)
    head = "flow mm3/s".ljust(LABEL) + "delivered".ljust(_NUMBERS) + "motor".ljust(_SKIPPED)
    if drawn:
        ends = f"{100 * low:.0f} %", f"{100 * high:.0f} %"
        head += ends[0] + ends[1].rjust(cells - len(ends[0]))
    page.row((head, ""))
    knee = trade(test.knee, "mm3/s")
    told = knee is None
    for step in test.steps:
        if knee is not None and not told and step.flow * _MM3 > knee.value:
            reach = f"{figure(knee.low)}-{figure(knee.high)}"
            page.row((flow(knee.value).rjust(6).ljust(LABEL), "neck"),
                     (f"under-extrusion starts ({reach})", "neck"))  # fmt: skip
            told = True
        words = _words(step)
        picture = _cells(page, step, low, high, cells) if drawn else ""
        page.row((words, "error" if step.skipped == "yes" else ""), (picture, ""))


def _words(step: Step) -> str:
    ratio = f"{100 * step.ratio:5.1f} % +-{100 * step.expanded:.1f}"
    skipped = "left out" if step.outlier else _SKIP_WORDS[step.skipped]
    return flow(step.flow * _MM3).rjust(6).ljust(LABEL) + ratio.ljust(_NUMBERS) + (
        skipped.ljust(_SKIPPED)
    )  # fmt: skip


def _scale(test: Evaluation) -> tuple[float, float]:
    """Return round ends that hold all points but those too low to matter."""
    lowest = min(step.ratio - step.expanded for step in test.steps)
    highest = max(step.ratio + step.expanded for step in test.steps)
    low = math.floor(max(lowest, _FLOOR) / _STEP + 1e-9) * _STEP
    high = math.ceil(max(highest, 1.0 + _STEP) / _STEP - 1e-9) * _STEP
    return min(low, 1.0 - 2 * _STEP), high


def _cells(page: Page, step: Step, low: float, high: float, cells: int) -> str:
    marks = _DRAWN if page.look.drawn else _ASCII

    def cell(ratio: float) -> int:
        return math.floor((ratio - low) / (high - low) * (cells - 1) + 0.5)

    row = [" "] * cells
    for place in range(cell(step.ratio - step.expanded), cell(step.ratio + step.expanded) + 1):
        if 0 <= place < cells:
            row[place] = "band"
    level = cell(1.0)
    row[level] = "level on band" if row[level] == "band" else "level"
    made = [marks.get(mark, mark) for mark in row]
    at = cell(step.ratio)
    made[max(0, min(at, cells - 1))] = "<" if at < 0 else "o"
    return "".join(made).rstrip()


LOSS = {
    "none": "nothing is missing",
    "slip": (
        "looks like slipping{sure}: cleaner or larger gears and more bite help, or less push: "
        "hotter, a wider nozzle"
    ),
    "melt": (
        "looks like a cold core{sure}: the hotend melts no more. Hotter, a wider nozzle or a "
        "longer melt zone helps"
    ),
    "skip": (
        "looks like skipping{sure}: the motor skips first. More current within the derated limit "
        "or another gear ratio helps, or less push: hotter, a wider nozzle"
    ),
    "buckle": (
        "looks like buckling{sure}: it stops at once and the motor does not skip. Look at "
        "the unsupported gap below the gears and for a clog"
    ),
    "unsure": "not clear: {odds}",
}


def clock(seconds: float) -> str:
    """Return a time in full minutes: ``24 min``, ``1 h 17 min``."""
    hours, minutes = divmod(max(1, round(seconds / 60)), 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"


def render_plan(report: PlanReport, look: Look | None = None, *, full: bool = False) -> str:
    """Return a plan, or why there is none, as text; a row a step with `full`."""
    page = Page(look or Look(), written=True)
    if report.plan is None:
        page.entry("test", "none is planned", label_style="strong", style="strong")
        for sentence in report.refused:
            page.entry("", sentence)
        return page.render() if report.refused else ""
    _write_summary(page, report.plan, report)
    for i, stop in enumerate(report.stops):
        page.entry("" if i else "stop at", stop, label_style="warning")
    for i, caution in enumerate(report.cautions):
        page.entry("" if i else "caution", caution, label_style="warning")
    _write_steps(page, report, report.plan, full=full)
    page.entry("then", "print the G-code (--gcode FILE); cut, number and bag each piece")
    page.entry("", "weigh: fill in mass and skipped in the table (--csv FILE)")
    command = "read: feedwright weigh read" if report.whole is None else (
        "the next piece: feedwright weigh next")  # fmt: skip
    page.entry("", f"{command} FILE --config CONFIG")
    if trade(report.plan.knee, FLOW) is not None:
        page.entry("", RANGE)
    return page.render()


def _write_summary(page: Page, plan: Plan, report: PlanReport) -> None:
    page.entry("test", _tested(plan, report), label_style="strong", style="strong")
    pieces, left = len(plan.steps), report.remarks
    page.entry(
        "total",
        f"{pieces} pieces, {figure(plan.length)} m of filament, {figure(plan.mass * 1e3, 2)} g "
        f"to weigh, about {clock(plan.time)} when hot",
    )
    if report.whole is not None:
        whole = report.whole
        page.entry(
            "one by one",
            "the first two pieces; 'weigh next' chooses each further one, mostly 3 to 8 of them "
            f"(the whole test: {len(whole.steps)} pieces, {figure(whole.length)} m)",
        )
    if left and plan.length > _MUCH:
        page.entry("less", left[0], label_style="strong", style="warning")
        left = left[1:]
    _write_bench(page, plan)
    for remark in left:
        page.entry("note", remark)


def _tested(plan: Plan, report: PlanReport) -> str:
    """Return what is tested, and where it should begin to under-extrude."""
    conditions = {**report.conditions}
    conditions["material"] = material_words(conditions["material"])
    test = ", ".join(conditions.values())
    expected = trade(plan.knee, FLOW)
    if expected is not None:
        test += f" nozzle: under-extrusion should start at {ranged(expected, FLOW)}"
    return test


def _write_bench(page: Page, plan: Plan) -> None:
    page.entry(
        "scale",
        f"{figure(plan.scale * 1e3)} g, {figure(100 * plan.mass_uncertainty, 2)} % of a piece "
        "(standard uncertainty)",
    )
    fan = f"{figure(100 * plan.fan)} %" if plan.fan else "off"
    page.entry("part fan", f"{fan}, as in a usual print; change it in the G-code if yours differs")


def _write_steps(page: Page, report: PlanReport, plan: Plan, *, full: bool) -> None:
    if not full:
        flows = ", ".join(f"{step.flow * _MM3:.1f}" for step in plan.steps)
        length = f"{plan.steps[0].length * _MM:.0f} mm"
        slow = "; the first is the slow reference" if report.whole is not None else (
            "; the first and the last are the slow reference")  # fmt: skip
        page.entry("steps", f"{flows} {FLOW}, {length} each{slow} (--full: a line each)")
        return
    page.heading("Steps")
    page.row(("  step   mm3/s    mm/s   length mm   time", ""))
    for number, step in enumerate(plan.steps, 1):
        page.row((_plan_row(number, step), ""))
    page.blank()


def _plan_row(number: int, step: PlanStep) -> str:
    slow = "   slow reference" if step.reference else ""
    return (
        f"  {number:4d}{step.flow * _MM3:8.1f}{step.speed * _MM:8.2f}{step.length * _MM:12.0f}"
        f"{round(step.time):5d} s{slow}"
    )


def render_read(report: WeighReport, look: Look | None = None, *, full: bool = False) -> str:
    """Return what tests show as text; every remark with `full`."""
    page = Page(look or Look(), written=True)
    several = len(report.tests) > 1
    for test in report.tests:
        if several:
            page.heading(_title(test))
        elif report.calibrations:
            write_cap(page, report.calibrations[0])
        _write_limit(page, test)
        if not several:
            for calibration in report.calibrations:
                write_calibration(page, calibration)
        _write_test(page, test, full=full)
        write_picture(page, test)
    if report.contrasts:
        page.heading("Side by side")
        for contrast in report.contrasts:
            page.indented(_contrast(contrast), 1)
    if several:
        for calibration in report.calibrations:
            page.heading(f"The capacity after it{_whose(calibration)}")
            write_cap(page, calibration)
            write_calibration(page, calibration)
    return page.render()


def _title(test: Evaluation) -> str:
    named = [test.name] if test.name == test.file else [test.name, test.file]
    return ": ".join([" in ".join(named), ", ".join(test.conditions.values())]).rstrip(": ")


def write_cap(page: Page, made: Calibration) -> None:
    """Write what to do; nothing where the test says nothing of a cap."""
    if made.set_to is not None:
        words = f"set the slicer's cap to {flow(made.set_to)} {FLOW}"
        page.entry("answer", words, label_style="strong", style="strong")


def _write_limit(page: Page, test: Evaluation) -> None:
    page.entry("limit", limit_words(test), label_style="strong", style="strong")
    page.entry("cause", loss_words(test))


def _write_test(page: Page, test: Evaluation, *, full: bool) -> None:
    page.entry("whole", clean_words(test))
    page.entry("skips", skip_words(test))
    page.entry("slow run", slow_words(test))
    for label, words in hand_words(test):
        page.entry(label, words)
    for outlier in test.outliers:
        page.entry("left out", outlier, label_style="warning")
    for remark in test.remarks:
        page.entry("note", remark)
    notes = [
        (step, note)
        for step in test.steps
        for note in dict.fromkeys(step.notes)
        if not (step.reference and note == _OWN_NOTE)
    ]
    for step, note in notes if full else notes[:_NOTES]:
        page.entry("noted", f"at {flow(step.flow * _MM3)} {FLOW}: {note}")
    if len(notes) > _NOTES and not full:
        page.entry("", f"and {len(notes) - _NOTES} more (--full)")


def limit_words(test: Evaluation) -> str:
    """Return in words where delivery begins to fall, and what is missing up to there."""
    knee = trade(test.knee, FLOW)
    if test.off_from is not None:
        far = "" if knee is None else f"; with a wrong slow run it starts at {_flow_band(knee)}"
        return (
            f"not clear: under-extrusion may start below {flow(test.off_from * _MM3)} {FLOW}{far}"
        )
    if knee is None:
        return f"not reached: nothing is missing up to {flow(test.intact * _MM3)} {FLOW}"
    return f"under-extrusion starts at {_flow_band(knee)}{fed_words(test)}{_droop(test.droop)}"


def _droop(droop: Band | None) -> str:
    if droop is None or droop.low < _NO_DROOP:
        return ""
    percent = Band(*(100 * end for end in (droop.value, droop.low, droop.high)))
    return f"; {ranged(percent, '%', 2)} is missing up to there, as slip grows with the push"


def clean_words(test: Evaluation) -> str:
    """Return in words up to which flow all pieces are whole."""
    if test.clean is None:
        return "nothing: the slow run skipped, or nobody noted whether it did"
    return f"97 % or more comes out up to {flow(test.clean * _MM3)} {FLOW}, and nothing skips"


def _flow_band(knee: Band) -> str:
    return f"{flow(knee.value)} ({figure(knee.low)}-{figure(knee.high)}) {FLOW}"


def skip_words(test: Evaluation) -> str:
    """Return in words up to where the motor did not skip."""
    last, first = test.last_without_skips, test.first_skip
    if first is None and last is None:
        return "not noted"
    before = f"none up to {flow(last * _MM3)} {FLOW}" if last is not None else ""
    after = f"the motor skips at {flow(first * _MM3)} {FLOW}" if first is not None else ""
    return "; ".join(part for part in (before, after) if part)


def loss_words(test: Evaluation) -> str:
    """Return in words what kind of loss it is."""
    likeliest = next(iter(test.loss_odds.values()), None)
    sure = "" if likeliest is None else f" ({share(likeliest)} sure)"
    odds = ", ".join(
        f"{KIND[kind]} {share(odds)}" for kind, odds in test.loss_odds.items() if odds >= _TOLD
    )
    return LOSS[test.loss].format(sure=sure, odds=odds) + _rise(test)


def _rise(test: Evaluation) -> str:
    if test.rise is None:
        return ""
    part = max(0.0, min(1.0, test.rise))
    return f". Above the limit {share(part)} of what is added still comes out"


def slow_words(test: Evaluation) -> str:
    """Return in words what the slow run delivered, and what that says of the calibration."""
    if test.by_hand is not None and test.by_hand.calibration is not None:
        return ruler_words(test)
    ratio, off = test.reference_ratio, 100 * test.reference_expanded
    text = f"{figure(100 * ratio.value)} +- {figure(off, 2)} % (95 %) of what was commanded"
    meant = trade(test.rotation_meant, "mm")
    if meant is None or abs(ratio.value - 1.0) < _SMALL:
        return f"{text}: the rotation distance is right as far as this can tell"
    would = f"{meant.value:.3f} ({meant.low:.2f}-{meant.high:.2f}) mm"
    if test.rotation_distance is not None:
        return f"{text}: a rotation distance of {would} would set that right"
    return (
        f"{text}: that would be a rotation distance of {would}, or another density or diameter of "
        "the filament. Measure a fed length by ruler before you change it"
    )


def _contrast(contrast: Contrast) -> str:
    value, low, high = (100 * (end - 1) for end in _ends(contrast.ratio))
    way = "higher" if value >= 0 else "lower"
    sure = max(contrast.sure, 1.0 - contrast.sure)
    told = "" if sure >= 0.95 else "; that may be chance"
    return (
        f"{contrast.name}: the limit is {figure(abs(value), 2)} % {way} than in {contrast.other} "
        f"({low:+.0f} to {high:+.0f} %){told}"
    )


def _ends(value: Band) -> Iterable[float]:
    return value.value, value.low, value.high


def _whose(made: Calibration) -> str:
    return "" if made.sheet is None else f": {made.sheet}"


def write_calibration(page: Page, made: Calibration, *, use: str = KEEP) -> None:
    """Write what tests make of the capacity, and how it is used."""
    before = "" if made.before is None else f", was {ranged(made.before, FLOW)}"
    if made.contradiction is not None:
        words = f"unchanged: the machine as stated cannot explain the test: {made.contradiction}"
        page.entry("capacity", f"{words}{before}", label_style="error", style="error")
        for number, cause in enumerate(made.causes, 1):
            page.entry(f"cause {number}" if number > 1 else "likeliest", cause)
        return
    if made.after is None:
        page.entry("capacity", "as before: too little is known of the machine to compare")
        return
    first = BOTTLENECK.get(made.bottleneck or "")
    text = ranged(made.after, FLOW) + (f"; {first} limits first" if first else "")
    if made.bottleneck == "torque":
        text += ", its usual margin of torque kept"
    if made.narrower is not None and made.narrower > 0.0:
        before += f"; {share(made.narrower)} narrower"
    text += f" (with this test{before})"
    page.entry("capacity", text, label_style="strong", style="strong")
    page.entry("use it", use)
