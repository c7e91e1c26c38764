"""The answer of `session` for people: the cap first, then the tables, then step by step.

The sentences and rows of cells that it is made of are the same on the page.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.answers import AccelRow, CapRow, RetractLimits, SessionReport, SpeedCeiling
from advisor.base import frozen
from advisor.report.answer_notes import (
    write_command,
    write_next,
    write_rough,
    write_unused,
    write_uses,
    write_weighed,
)
from advisor.report.clean import cell_width
from advisor.report.look import Look
from advisor.report.numbers import RANGE, figure, flow, ranged
from advisor.report.page import LABEL, Page
from advisor.report.words import case_words, condition_words, label_of, limit_words

__all__ = [
    "Grid",
    "Told",
    "accel_grid",
    "answer_words",
    "cap_grid",
    "cap_list",
    "render",
    "session_lines",
    "speed_grid",
    "step_words",
]

FLOW, SPEED, ACCEL = "mm3/s", "mm/s", "mm/s2"
_NONE = "-"
_TITLES = {
    "clean": "clean", "feed": "feed", "current": "current", "ramp": "ramp",
    "weigh": "weigh", "advance": "advance", "accel": "corners", "print": "print",
}  # fmt: skip


_BEYOND = {"torque": "usable torque", "speed": "trusted speed"}
_Cell = tuple[str | None, float, float, str]  # case, width, height, what stands there
_LEAST_NAME, _LEAST_CELL = 6, 8


@frozen
class Told:
    """A label, its words and their style."""

    label: str
    text: str
    style: str = ""


@frozen
class Grid:
    """A table: a caption, what its cells are, the heads of its columns, its rows."""

    caption: str
    about: str
    heads: tuple[str, ...]  # of the first column, then of the others
    rows: tuple[tuple[str, ...], ...]
    marked: tuple[int, ...] = ()


def answer_words(report: SessionReport) -> tuple[str, str]:
    """Return what to do first of all, and the style of the sentence."""
    if report.first:
        count = len(report.first)
        things = "one thing has" if count == 1 else f"{count} things have"
        return f"not yet: {things} to be changed first", "error"
    if report.capacity is None:
        return "not known", "strong"
    if report.stuck:
        return (
            f"nothing gets through, {limit_words(report.bottleneck)} limits first: see lint",
            "error",
        )
    if report.cap is None and report.cases:
        return "the cap depends on the hotend, which nobody states", "warning"
    if report.cap is None:
        return "there is no cap to set", "error"
    return f"set the cap to {_cap_words(report, report.cap)}", "strong"


def _cap_words(report: SessionReport, cap: float) -> str:
    """Return the cap, and the speed of a line at it."""
    fastest = _of_usual(report.ceilings)
    speed = "" if fastest is None else (
        f": {figure(fastest.cap or 0.0, 4)} {SPEED} at {_size(fastest.width, fastest.height)}"
    )  # fmt: skip
    return f"{flow(cap)} {FLOW}{speed}"


def _of_usual(rows: Sequence[SpeedCeiling]) -> SpeedCeiling | None:
    """Return the line in the middle of the widths and heights."""
    widths = sorted({row.width for row in rows})
    heights = sorted({row.height for row in rows})
    if not rows:
        return None
    width, height = widths[(len(widths) - 1) // 2], heights[(len(heights) - 1) // 2]
    return next(row for row in rows if (row.width, row.height) == (width, height))


def _size(width: float, height: float) -> str:
    return f"{width:g} x {height:g}"


def session_lines(report: SessionReport) -> Iterator[Told]:
    """Yield what stands below the answer: capacity, what is to be changed, moves, currents."""
    for sentence in report.first:
        yield Told("first", sentence, "error")
    if report.first and report.cap is not None:
        yield Told("cap", f"{_cap_words(report, report.cap)}, as the config is now")
    if report.capacity is not None:
        first = f"; {limit_words(report.bottleneck)} limits first" if report.bottleneck else ""
        if report.bottleneck == "weighed":
            first = "; as the weighed test showed"
        place = condition_words(report.material, report.temperature, report.nozzle)
        yield Told("capacity", f"{ranged(report.capacity, FLOW)}{first}{place}")
    for case in report.cases:
        yield Told(label_of(case), case_words(case))
    yield from _advance(report)
    for one in report.retracts:
        yield Told("retract", _retract(one), "" if one.inside else "warning")
    yield from _current(report)


def _advance(report: SessionReport) -> Iterator[Told]:
    told = report.advance
    if told is None:
        if report.no_advance is not None and report.capacity is not None:
            yield Told("advance", report.no_advance)
        return
    values = f"{figure(told.advance)} s at {_accel(told.acceleration)}"
    line, why = told.line, _why(told.line.limit, told.trusted_share)
    at = _size(line.width, line.height)
    if line.inside:
        most = "whatever the acceleration" if line.limit is None else (
            f"up to {_accel(line.acceleration or 0.0)} at {at}"
        )  # fmt: skip
        more = "" if told.inside else "; not at every line below"
        words = f"motor inside its torque and trusted speed, {most}{more}"
    elif line.acceleration is None:
        words = f"outside at any acceleration at {at}: {why}"
    else:
        words = f"outside, {why}; at most {_accel(line.acceleration)} at {at}"
    yield Told("advance", f"{values}: {words}", "" if told.inside else "warning")


def _accel(acceleration: float) -> str:
    return f"{acceleration:.0f} {ACCEL}"


def _why(limit: str | None, share: float | None = None) -> str:
    if limit == "torque":
        return "more than the usable torque"
    return "faster than the trusted speed" + (
        f", {figure(share, 2)} of the corner speed" if share is not None else ""
    )


def _retract(one: RetractLimits) -> str:
    reached = ""
    if one.reached < one.speed * 0.995:
        reached = f" (reaches {figure(one.reached)})"
    values = f"{figure(one.speed)} {SPEED}{reached} at {_accel(one.acceleration)}"
    verdict = "inside, up to" if one.inside else f"outside, {_why(one.limit)}; at most"
    return f"{one.title} {values}: {verdict} {_most(one)}"


def _most(one: RetractLimits) -> str:
    speed = "any speed" if one.speed_limit is None else (
        f"{figure(one.largest_speed, 4)} {SPEED}" if one.largest_speed else "no speed"
    )  # fmt: skip
    if one.acceleration_limit is None:
        return f"{speed}, or any acceleration"
    if not one.largest_acceleration:
        return f"{speed}; no acceleration will do at this speed"
    return f"{speed}, or {_accel(one.largest_acceleration)}"


def _current(report: SessionReport) -> Iterator[Told]:
    told = report.current
    if told is None or told.at is None:
        if report.extruder is not None:
            yield Told("current", "the run current is not known: watch the motor's temperature")
        return
    most = f", {told.most:.2f} at most" if told.most is not None else ""
    hold = "" if told.hold is None else f"; hold {told.hold:.2f}"
    now = told.at if told.set_now is None else told.set_now
    style = "error" if told.too_high else "warning" if now != told.at else ""
    yield Told("current", f"{now:.2f} A RMS set{most}{hold}", style)


def speed_grid(report: SessionReport, *, full: bool = True) -> Grid | None:
    """Return the largest head speeds; without `full`, of several cases the middle width alone."""
    rows = report.ceilings
    if not rows:
        return None
    if not full and len({row.case for row in rows}) > 1:
        widths = sorted({row.width for row in rows})
        rows = tuple(row for row in rows if row.width == widths[(len(widths) - 1) // 2])
    ratio = report.flow_ratio
    more = "" if ratio is None or ratio == 1.0 else f", flow ratio {figure(ratio)}"
    known = any(row.cap is not None for row in rows)
    return _by_line(
        f"Speed ceiling in {SPEED} of lines, width x height",
        f"{'cap / typical' if known else 'typical'}{more}",
        [(row.case, row.width, row.height, _speed(row, known)) for row in rows],
    )


def _speed(row: SpeedCeiling, known: bool) -> str:
    typical = figure(float(int(row.typical)), 4)
    return f"{_NONE if row.cap is None else f'{row.cap:.0f}'} / {typical}" if known else typical


def accel_grid(report: SessionReport) -> Grid | None:
    """Return the largest acceleration of each line at the advance that is set."""
    told = report.advance
    if told is None:
        return None
    limits = {row.limit for row in told.rows if row.limit is not None}
    exceeded = [words for name, words in _BEYOND.items() if name in limits]
    about = f"more exceeds the {exceeded[0]}" if len(limits) == 1 else "with what more exceeds"
    return _by_line(
        f"Largest acceleration in {ACCEL} at advance {figure(told.advance)} s",
        about,
        [
            (row.case, row.width, row.height, _largest(row, named=len(limits) > 1))
            for row in told.rows
        ],
    )


def _largest(row: AccelRow, *, named: bool) -> str:
    if row.limit is None:
        return "any"
    most = "none" if row.acceleration is None else f"{row.acceleration:.0f}"
    return f"{most} {row.limit}" if named else most


def _by_line(caption: str, about: str, cells: Sequence[_Cell]) -> Grid:
    """Return a row a width, or a width in a case, and a column a height."""
    heights = sorted({height for _, _, height, _ in cells})
    texts = {(case, width, height): text for case, width, height, text in cells}
    rows = [
        (
            f"{width:g}" if case is None else f"{case} {width:g}",
            *(texts[case, width, height] for height in heights),
        )
        for case, width in dict.fromkeys((case, width) for case, width, _, _ in cells)
    ]
    heads = ("width", *(f"x {height:g}" for height in heights))
    return Grid(caption, about, heads, tuple(rows))


def cap_grid(report: SessionReport) -> Grid | None:
    """Return the flow to set by material and temperature."""
    heats = sorted({row.temperature for row in report.caps})
    materials = dict.fromkeys(row.material for row in report.caps)
    if not heats:
        return None
    cells = {(row.material, row.temperature): row for row in report.caps}
    known = any(row.cautious is not None for row in report.caps)
    tested = any(row.weighed is not None for row in report.caps)
    own = [n for n, name in enumerate(materials) if name == report.material]
    rows = tuple(
        (
            cells[name, heats[0]].title,
            *(_cap(cells[name, heat], known=known, tested=tested) for heat in heats),
        )
        for name in materials
    )
    about = "cap / typical" if known else "typical"
    about += " / weighed" if tested else ""
    return Grid(
        f"Flow in {FLOW} by filament and degC",
        f"{about}; {_NONE} not in its range",
        ("filament", *(f"{heat:g}" for heat in heats)),
        rows,
        tuple(own),
    )


def cap_list(report: SessionReport) -> Grid | None:
    """Return the same with a row for each filament and temperature in its range."""
    rows = [row for row in report.caps if row.in_range]
    if not rows:
        return None
    known = any(row.cautious is not None for row in rows)
    tested = any(row.weighed is not None for row in rows)
    heads = ("filament", "degC", *(("cap",) if known else ()), "typical",
             *(("weighed",) if tested else ()))  # fmt: skip
    return Grid(
        f"Flow in {FLOW} by filament and nozzle temperature",
        ("the cap to set, " if known else "")
        + "the typical capacity"
        + (", the cap with the test" if tested else ""),
        heads,
        tuple(
            (row.title, f"{row.temperature:g}", *_cap(row, known=known, tested=tested).split(" / "))
            for row in rows
        ),
        tuple(n for n, row in enumerate(rows) if row.present),
    )


def _cap(row: CapRow, *, known: bool, tested: bool) -> str:
    if not row.in_range or row.typical is None:
        return _NONE
    flows = [row.cautious] if known else []
    flows += [row.typical, row.weighed] if tested else [row.typical]
    return " / ".join("none" if x is None else flow(x) for x in flows)


def step_words(name: str) -> str:
    """Return what a step is called."""
    return _TITLES.get(name, name)


def render(
    report: SessionReport,
    look: Look | None = None,
    *,
    full: bool = False,
    written: str | None = None,
) -> str:
    """Return the answer as text, on one screen; `full` tells how each step is done.

    `written` is the file that the page went to.
    """
    page = Page(look or Look(), written=True)
    write_unused(page, report.files)
    write_uses(page, report.weighed)
    words, style = answer_words(report)
    page.entry("answer", words, label_style="strong", style=style)
    for sentence in report.lacking:
        page.entry("", sentence)
    for told in session_lines(report):
        page.entry(told.label, told.text, style=told.style)
    write_weighed(page, report.weighed, full=full)
    write_rough(page, report.draws)
    if report.assumed:
        words = ", ".join(report.assumed) if full else _assumed(report.assumed, page)
        page.entry("assumed", words)
    _write_grids(page, report, full=full)
    _write_steps(page, report, full=full)
    write_next(page, report.next, apart=False)
    if report.capacity is not None:
        page.entry("", RANGE)
    if written is not None:
        page.entry("page", written)
    return page.render()


def _assumed(titles: tuple[str, ...], page: Page) -> str:
    """Return what was assumed, as much as a line holds."""
    for count in range(len(titles), 0, -1):
        rest = len(titles) - count
        text = ", ".join(titles[:count]) + (f" and {rest} more (--full)" if rest else "")
        if LABEL + len(text) <= page.look.width:
            break
    return text


def _write_grids(page: Page, report: SessionReport, *, full: bool) -> None:
    _write_grid(page, speed_grid(report, full=full))
    outside = report.advance is not None and not report.advance.inside
    if full or outside:
        _write_grid(page, accel_grid(report))
    _write_grid(page, cap_grid(report))


def _write_grid(page: Page, grid: Grid | None) -> None:
    """Write a table, or where it is too wide for the page a line for each of its rows."""
    if grid is None:
        return
    page.heading(f"{grid.caption}: {grid.about}")
    columns = list(zip(grid.heads, *grid.rows, strict=True))
    name = max(_LEAST_NAME, *(cell_width(page.text(text)) for text in columns[0])) + 1
    widths = [
        max(_LEAST_CELL, *(cell_width(page.text(x)) for x in column)) + 2 for column in columns[1:]
    ]
    if name + sum(widths) > page.look.width:
        for first, *cells in grid.rows:
            pairs = zip(grid.heads[1:], cells, strict=True)
            told = "; ".join(f"{head}: {cell}" for head, cell in pairs if cell != "-")
            page.indented(f"{first}  {told}", 1)
        return
    for first, *cells in (grid.heads, *grid.rows):
        line = "".join(x.rjust(width) for x, width in zip(cells, widths, strict=True))
        page.row((first.ljust(name) + line, ""))


def _write_steps(page: Page, report: SessionReport, *, full: bool) -> None:
    if not report.steps:
        return
    page.heading(f"In this order: what to see, and when to stop{'' if full else ' (--full: how)'}")
    for step in report.steps:
        label = f"{step.number} {step_words(step.name)}"
        if full:
            page.entry(label, step.do)
            page.entry("  see", step.expect)
            page.entry("  stop", step.stop)
            if step.name == "weigh" and report.plan is not None:
                write_command(page, report.plan)
        else:
            parts = (step.expect, f"stop: {step.stop}" if step.stop else "")
            page.entry(label, "; ".join(part for part in parts if part))
    if full:
        page.heading("Caution")
        for sentence in report.cautions:
            page.indented(sentence, 1)
    elif report.cautions:
        page.entry("caution", report.cautions[0])
