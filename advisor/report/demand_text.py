"""The answer of `demand` for people: does it fit, then where and when it asks the most."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence

from advisor.answers import DemandReport, DemandRow
from advisor.report.caps_text import write_caps
from advisor.report.caps_words import clock, slicer_time_words
from advisor.report.case_words import caps_words, case_words, label_of
from advisor.report.look import Look
from advisor.report.numbers import RANGE, figure, flow, quantity, ranged, share
from advisor.report.page import Page
from advisor.report.print_words import (
    NEVER,
    WINDOW_HEADS,
    answer_words,
    firmware_words,
    found_words,
    helps_words,
    place_words,
    window_rows,
)
from advisor.report.unused import write_unused
from advisor.report.weigh_note import write_uses, write_weighed
from advisor.report.words import condition_words

__all__ = ["render", "stretches"]

FLOW = "mm3/s"
_MOST_ROWS = 12
_COLUMNS = (20, 14, 7, 20)  # of the table of limits
_NARROW = 75  # columns below which the table is told in sentences
_FEATURES, _PLACES, _REMARKS = 3, 3, 1  # that are told without --full
_MOST_PLACES = 5


def render(report: DemandReport, look: Look | None = None, *, full: bool = False) -> str:
    """Return the answer as text; one screen of it without `full`."""
    page = Page(look or Look(), written=True)
    write_unused(page, report.files)
    write_uses(page, report.weighed)
    if report.caps is not None:
        write_caps(page, report.caps, report.time)
        if report.slicer_time is not None:
            page.entry("slicer says", slicer_time_words(report.slicer_time, report.time))
    _write_answer(page, report)
    if report.caps is not None and not full:
        return page.render()
    _write_numbers(page, report, full=full)
    _write_windows(page, report, full=full)
    most = max(1, _FEATURES - 2 * len(report.findings))  # two lines are told of each
    _write_features(page, report.features, len(report.features) if full else most)
    _write_worst(page, report, full=full)
    _write_remarks(page, report, full=full)
    page.entry("", RANGE)
    return page.render()


def _write_answer(page: Page, report: DemandReport) -> None:
    words, style = answer_words(report)
    label = "answer" if report.caps is None else "verdict"
    page.entry(label, words, label_style="strong", style=style)
    for sentence in (*firmware_words(report), *report.lacking):
        page.entry("", sentence)


def _write_windows(page: Page, report: DemandReport, *, full: bool) -> None:
    """One line a limit: its window, what is asked over it, what it can sustain, the time above."""
    rows = list(window_rows(report, brief=not full))
    if not rows:
        return
    page.heading(f"What the print asks, and what each part can sustain, in {FLOW}")
    never = [row.limit for row in rows if row.above == NEVER and not full]
    told = [row for row in rows if row.limit not in never]
    if page.look.width < _NARROW:
        for row in told:
            words = f"asks {row.asked} over {row.window}, can sustain {row.allowed}"
            page.indented(f"{row.limit}: {words}; above that {row.above}", 1)
    elif told:
        for cells in (WINDOW_HEADS, *(dataclasses.astuple(row) for row in told)):
            columns = [cell.ljust(width) for cell, width in zip(cells[:-1], _COLUMNS, strict=True)]
            page.row(("  " + "".join(columns) + cells[-1], ""))
    if never:
        page.indented(f"never too much for the {', the '.join(never)}", 1)


def _write_numbers(page: Page, report: DemandReport, *, full: bool) -> None:
    peak = f"{flow(report.peak)} {FLOW} in line {report.peak_line}{_also(report)}"
    if report.cap is not None:
        peak += f"; the slicer profile caps at {flow(report.cap)}{_cap(report)}"
    page.entry("peak", peak)
    if report.capacity is not None:
        place = condition_words(report.material, report.temperature, report.nozzle)
        page.entry("capacity", f"{ranged(report.capacity, FLOW)}{place}")
        for level, sentence in found_words(report):
            page.entry(level, sentence, style=level)
        _write_cases(page, report, full=full)
        write_weighed(page, report.weighed, full=full)
        if helps := helps_words(report):
            page.entry("what helps", helps)
    filament = f"{figure(report.filament / 1e3)} m of filament"
    page.entry("print", f"{report.moves} moves, {clock(report.time)} of motion, {filament}")
    if full:
        page.entry("filament", _filament(report))
        if report.slicer_time is not None and report.caps is None:
            page.entry("slicer says", slicer_time_words(report.slicer_time, report.time))


def _write_cases(page: Page, report: DemandReport, *, full: bool) -> None:
    label, caps = caps_words(report.cases) if report.cases and not full else ("", "")
    if caps:
        page.entry(label, caps)
        return
    for case in report.cases:
        page.entry(label_of(case), case_words(case))


def _also(report: DemandReport) -> str:
    """Name the other lines that ask as much as the first of the worst."""
    others = [str(row.line) for row in report.worst if row.line != report.peak_line]
    if report.verdict == "fits-except" or not others:
        return ""
    return f"; the next are in lines {', '.join(others[:_PLACES])}"


def _cap(report: DemandReport) -> str:
    if report.cap is None or report.peak <= report.cap * 1.02:
        return ""
    return ", the print exceeds it"


def _filament(report: DemandReport) -> str:
    speed = quantity(report.extruder_peak_speed, "mm/s")
    text = f"at most {speed} and {quantity(report.extruder_peak_accel, 'mm/s2')} with pressure "
    text += "advance"
    if report.advance_speed_share is not None:
        text += f"; {share(report.advance_speed_share)} of the motor's corner speed"
    return text


def stretches(layers: Sequence[DemandRow]) -> list[DemandRow]:
    """Join layers into at most a dozen stretches of height, the lowest first."""
    placed = sorted((x for x in layers if x.height is not None), key=lambda x: x.height or 0.0)
    placed = [layer for layer in placed if layer.volume > 0.0]
    if not placed:
        return []
    step = -(-len(placed) // _MOST_ROWS)
    groups = [placed[i : i + step] for i in range(0, len(placed), step)]
    return [_joined(group) for group in groups]


def _joined(group: Sequence[DemandRow]) -> DemandRow:
    low, high = group[0].height or 0.0, group[-1].height or 0.0
    name = f"{low:.1f}" if len(group) == 1 else f"{low:.1f}-{high:.1f}"
    sustained = [row.sustained for row in group if row.sustained is not None]
    return DemandRow(
        name=name,
        time=sum(row.time for row in group),
        volume=sum(row.volume for row in group),
        peak=max(row.peak for row in group),
        sustained=max(sustained) if sustained else None,
        above_time=0.0,
        above_volume=0.0,
        height=high,
    )


def _write_features(page: Page, features: Iterable[DemandRow], told: int) -> None:
    rows = sorted(features, key=lambda row: (-(row.sustained or 0.0), -row.peak, row.name))
    if not rows:
        return
    page.heading("By feature, most demanding first")
    for row in rows[:told]:
        page.indented(_row(row), 1)
    _write_rest(page, len(rows) - told)


def _row(row: DemandRow) -> str:
    sustained = "too short to sustain"
    if row.sustained is not None:  # a window may reach back into a faster feature
        sustained = f"{flow(min(row.sustained, row.peak))} {FLOW}"
    text = f"{row.name}: {sustained}, peak {flow(row.peak)}; {clock(row.time)}"
    if row.above_time:
        text += f"; {share(row.above_time)} of it above the capacity"
    return text


def _write_worst(page: Page, report: DemandReport, *, full: bool) -> None:
    """The places above a limit where they are few, else where the flow is largest."""
    most = _MOST_PLACES if full else _PLACES
    if report.verdict == "fits-except":
        page.heading("Where it asks too much")
        for place in report.places[:most]:
            page.indented(f"line {place.line}: {place_words(place)}", 1)
        _write_rest(page, report.place_count - len(report.places[:most]))
    elif report.worst and full:
        page.heading("Where it asks the most")
        for row in report.worst[:most]:
            height = "" if row.height is None else f", height {figure(row.height)} mm"
            feature = f", {row.feature.replace('-', ' ')}" if row.feature else ""
            page.indented(f"line {row.line}: {flow(row.flow)} {FLOW}{height}{feature}", 1)


def _write_remarks(page: Page, report: DemandReport, *, full: bool) -> None:
    if not report.remarks:
        return
    page.blank()
    told = len(report.remarks) if full else _REMARKS
    for sentence in report.remarks[:told]:
        page.entry("caveat", sentence)
    _write_rest(page, len(report.remarks) - told)


def _write_rest(page: Page, rest: int) -> None:
    if rest > 0:
        page.indented(f"and {rest} more (--full)", 1)
