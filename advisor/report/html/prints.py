"""A sliced print on the page: what it asks over its height and by feature, and where the most."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence

from advisor.answers import DemandReport, DemandRow
from advisor.report.caps_text import (
    clock,
    limited_words,
    saving_words,
    sliced_words,
    slicer_time_words,
)
from advisor.report.demand_text import (
    WINDOW_HEADS,
    answer_words,
    firmware_words,
    found_words,
    helps_words,
    place_words,
    stretches,
    window_rows,
)
from advisor.report.html.layout import (
    Child,
    Markup,
    Part,
    Place,
    data,
    element,
    list_of,
    section,
    table,
    terms,
)
from advisor.report.html.pictures import drawn, figure_with_table
from advisor.report.numbers import figure, flow, quantity, ranged, share

__all__ = ["no_print_section", "print_section"]

FLOW = "mm3/s"
_TITLE = "The print: flow over height"


def no_print_section(place: Place, sentence: str) -> Part:
    """Return the section of a print that could not be looked at."""
    return section(place, "print", _TITLE, element("p", sentence))


def print_section(place: Place, report: DemandReport) -> Part:
    """Return the section on what a print asks."""
    words, _ = answer_words(report)
    pairs: list[tuple[str, Child]] = [("answer", words), *_numbers(report)]
    rows = stretches(report.layers)
    figures = figure_with_table(
        drawn("draw_heights", report, place) if rows else None,
        "Sustained flow and peak by height, against the capacity.",
        _heights(rows, place),
        label=place.label,
    )
    return section(
        place, "print", _TITLE, terms(pairs),
        list_of((*firmware_words(report), *report.lacking, *(x for _, x in found_words(report)))),
        *_caps(report, place),
        _windows(report, place), _excesses(report, place), figures,
        _features(report, place), _worst(report, place), _remarks(report),
    )  # fmt: skip


def _caps(report: DemandReport, place: Place) -> Iterator[Child]:
    """Yield what more flow would buy, where that was asked for."""
    caps = report.caps
    if caps is None:
        return
    yield element("h4", "What more flow would buy")
    pairs: list[tuple[str, Child]] = [
        ("answer", saving_words(caps, report.time)),
        ("as it is", f"{clock(report.time)} of motion: {limited_words(caps)}"),
        ("sliced", sliced_words(caps)),
    ]
    yield terms(pairs)
    cells = [
        (figure(row.flow), "cannot be told", "", "")
        if row.time is None
        else (figure(row.flow), clock(row.time), share(row.saves or 0.0), share(row.held or 0.0))
        for row in caps.rows
    ]
    caption = "The time with every flow held to a cap"
    heads = (f"cap, {FLOW}", "time", "saves", "held by the cap")
    yield figure_with_table(
        drawn("draw_caps", report, place), f"{caption}.",
        table(caption, heads, cells, label=place.label, fits=True), label=place.label,
    )  # fmt: skip


def _numbers(report: DemandReport) -> Iterator[tuple[str, Child]]:
    if report.sustained is not None:
        over = f", the mean over {figure(report.melt_volume)} mm3, what the melt zone holds"
        yield "sustained", f"{flow(report.sustained)} {FLOW} in line {report.sustained_line}{over}"
    yield "peak", f"{flow(report.peak)} {FLOW} in line {report.peak_line}"
    if report.capacity is not None:
        yield "capacity", data(ranged(report.capacity, FLOW), report.capacity)
    if helps := helps_words(report):
        yield "what helps", helps
    if report.cap is not None:
        yield "slicer cap", f"{flow(report.cap)} {FLOW} in the slicer profile"
    length = f"{figure(report.filament / 1e3)} m of filament"
    yield "print", f"{report.moves} moves, {clock(report.time)} of motion, {length}"
    if report.slicer_time is not None:
        yield "slicer says", slicer_time_words(report.slicer_time, report.time)
    speed = quantity(report.extruder_peak_speed, "mm/s")
    accel = quantity(report.extruder_peak_accel, "mm/s2")
    yield "filament", f"at most {speed} and {accel}, pressure advance included"


def _windows(report: DemandReport, place: Place) -> Markup | None:
    cells = [dataclasses.astuple(row) for row in window_rows(report)]
    if not cells:
        return None
    caption = "Each limit over its own window, in mm3/s, and the extruding time above it"
    return table(caption, WINDOW_HEADS, cells, label=place.label, fits=True)


def _excesses(report: DemandReport, place: Place) -> Markup | None:
    if not report.places:
        return None
    cells = [(f"line {one.line}", place_words(one)) for one in report.places]
    count = report.place_count
    worst = f": the worst of {count}" if count > len(report.places) else ""
    caption = f"Where it asks too much{worst}"
    return table(caption, ("where", "what"), cells, label=place.label, fits=True)


def _heights(rows: Sequence[DemandRow], place: Place) -> Markup | None:
    if not rows:
        return None
    cells = [
        (row.name, _sustained(row), flow(row.peak), clock(row.time)) for row in rows
    ]  # fmt: skip
    heads = ("height, mm", "sustained, mm3/s", "peak, mm3/s", "time")
    return table("Flow by height", heads, cells, label=place.label, fits=True)


def _sustained(row: DemandRow) -> str:
    return "too short" if row.sustained is None else flow(min(row.sustained, row.peak))


def _features(report: DemandReport, place: Place) -> Markup | None:
    rows = sorted(report.features, key=lambda row: (-(row.sustained or 0.0), -row.peak, row.name))
    if not rows:
        return None
    cells = [
        (row.name, _sustained(row), flow(row.peak), clock(row.time), share(row.above_time))
        for row in rows
    ]
    heads = ("feature", "sustained, mm3/s", "peak, mm3/s", "time", "time above capacity")
    caption = "By feature, most demanding first"
    return table(caption, heads, cells, label=place.label, fits=True)


def _worst(report: DemandReport, place: Place) -> Markup | None:
    if not report.worst:
        return None
    cells = [
        (
            f"line {place_.line}", flow(place_.flow),
            "" if place_.height is None else figure(place_.height),
            (place_.feature or "").replace("-", " "),
        )
        for place_ in report.worst
    ]  # fmt: skip
    heads = ("where", "flow, mm3/s", "height, mm", "feature")
    caption = f"Where {report.path} asks the most"
    return table(caption, heads, cells, label=place.label, fits=True)


def _remarks(report: DemandReport) -> Markup | None:
    if not report.remarks:
        return None
    count = len(report.remarks)
    words = f"{count} remark{'s' if count > 1 else ''} on the file"
    shown = element("summary", f"Caveats: {words}")
    return element("details", shown, list_of(report.remarks))
