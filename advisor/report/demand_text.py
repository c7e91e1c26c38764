"""The answer of `demand` for people: does it fit, then where and when it asks the most."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence

from advisor.records import DemandReport, DemandRow
from advisor.report.look import Look
from advisor.report.numbers import band, figure, flow, quantity, share
from advisor.report.page import Page
from advisor.report.print_words import (
    WINDOW_HEADS,
    answer_words,
    place_words,
    refused_words,
    window_rows,
)
from advisor.report.unused import write_unused
from advisor.report.weigh_note import write_weighed

__all__ = ["clock", "render", "stretches"]

FLOW = "mm3/s"
_MOST_ROWS = 12
_COLUMNS = (20, 14, 7, 20)  # of the table of limits
_NARROW = 75  # columns below which the table is told in sentences
_MOST_FEATURES = 4
_MOST_PLACES = 5
_MOST_REMARKS = 3


def render(report: DemandReport, look: Look | None = None) -> str:
    """Return the answer as text."""
    page = Page(look or Look())
    write_unused(page, report.files)
    _write_answer(page, report)
    _write_windows(page, report)
    _write_numbers(page, report)
    _write_features(page, report.features)
    _write_worst(page, report)
    _write_remarks(page, report)
    return page.render()


def clock(seconds: float) -> str:
    """Return a time as people say it: ``2 h 05 min``, ``3 min 20 s``, ``12 s``."""
    whole = round(seconds)
    hours, minutes, rest = whole // 3600, whole % 3600 // 60, whole % 60
    if hours:
        return f"{hours} h {minutes:02d} min"
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"


def _write_answer(page: Page, report: DemandReport) -> None:
    words, style = answer_words(report)
    page.entry("answer", words, label_style="strong", style=style)
    for sentence in (*refused_words(report.refused), *report.lacking):
        page.entry("", sentence)


def _write_windows(page: Page, report: DemandReport) -> None:
    """One line a limit: its window, what is asked over it, what is allowed, the time above."""
    rows = list(window_rows(report))
    if not rows:
        return
    page.heading(f"Each limit over its own window, in {FLOW} (in brackets: 9 in 10 machines)")
    if page.look.width < _NARROW:
        for row in rows:
            words = f"{row.asked} over {row.window}, allowed {row.allowed}; above it: {row.above}"
            page.indented(f"{row.limit}: {words}", 1)
        return
    for cells in (WINDOW_HEADS, *(dataclasses.astuple(row) for row in rows)):
        columns = [cell.ljust(width) for cell, width in zip(cells[:-1], _COLUMNS, strict=True)]
        page.row(("  " + "".join(columns) + cells[-1], ""))


def _write_numbers(page: Page, report: DemandReport) -> None:
    page.blank()
    page.entry("peak", f"{flow(report.peak)} {FLOW} in line {report.peak_line}")
    if report.capacity is not None:
        page.entry("capacity", band(report.capacity, FLOW))
        write_weighed(page, report.weighed)
    if report.cap is not None:
        page.entry("cap", f"{flow(report.cap)} {FLOW} in the slicer profile{_cap(report)}")
    filament = f"{figure(report.filament / 1e3)} m of filament"
    page.entry("print", f"{report.moves} moves, {clock(report.time)} of motion, {filament}")
    page.entry("filament", _filament(report))


def _cap(report: DemandReport) -> str:
    if report.cap is None or report.peak <= report.cap * 1.02:
        return ""
    return "; the print exceeds it"


def _filament(report: DemandReport) -> str:
    speed = quantity(report.extruder_peak_speed, "mm/s")
    text = f"at most {speed} and {quantity(report.extruder_peak_accel, 'mm/s2')}, pressure "
    text += "advance included"
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


def _write_features(page: Page, features: Iterable[DemandRow]) -> None:
    rows = sorted(features, key=lambda row: (-(row.sustained or 0.0), -row.peak, row.name))
    if not rows:
        return
    page.heading("By feature, most demanding first")
    for row in rows[:_MOST_FEATURES]:
        page.indented(_row(row), 1)
    _write_rest(page, len(rows) - _MOST_FEATURES)


def _row(row: DemandRow) -> str:
    sustained = "too short to sustain"
    if row.sustained is not None:  # a window may reach back into a faster feature
        sustained = f"{flow(min(row.sustained, row.peak))} {FLOW}"
    text = f"{row.name}: {sustained}, peak {flow(row.peak)}; {clock(row.time)}"
    if row.above_time:
        text += f"; above capacity {share(row.above_time)} of its time"
    return text


def _write_worst(page: Page, report: DemandReport) -> None:
    """The places above a limit where they are few, else where the flow is largest."""
    if report.verdict == "fits-except":
        page.heading("Where it asks too much")
        for place in report.places[:_MOST_PLACES]:
            page.indented(f"line {place.line}: {place_words(place)}", 1)
        _write_rest(page, report.place_count - _MOST_PLACES)
    elif report.worst:
        page.heading("Where it asks the most")
        for row in report.worst[:_MOST_PLACES]:
            height = "" if row.height is None else f", height {figure(row.height)} mm"
            feature = f", {row.feature.replace('-', ' ')}" if row.feature else ""
            page.indented(f"line {row.line}: {flow(row.flow)} {FLOW}{height}{feature}", 1)


def _write_remarks(page: Page, report: DemandReport) -> None:
    if not report.remarks:
        return
    page.heading("Read with reserve")
    for sentence in report.remarks[:_MOST_REMARKS]:
        page.indented(sentence, 1)
    _write_rest(page, len(report.remarks) - _MOST_REMARKS)


def _write_rest(page: Page, rest: int) -> None:
    if rest > 0:
        page.indented(f"and {rest} more (--format json has them)", 1)
