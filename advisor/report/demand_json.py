"""The answer of `demand` as JSON and as CSV."""

from __future__ import annotations

import csv
import dataclasses
import io
from collections.abc import Iterable

from advisor.records import DemandReport, DemandRow, WindowRow
from advisor.report import json
from advisor.report.clean import unicode_text

__all__ = ["CSV_HEAD", "render", "render_csv"]

CSV_HEAD = "time_s,duration_s,mean_flow_mm3_s,peak_flow_mm3_s,height_mm,line"
"""The first line of the table; by it we know an earlier one."""


def render(report: DemandReport) -> str:
    """Return the answer as one JSON object."""
    number = json.number
    return json.dump({
        "print": unicode_text(report.path),
        "extruder": report.extruder,
        "moves": report.moves,
        "time": number(report.time),
        "volume": number(report.volume),
        "filament": number(report.filament),
        "peak": number(report.peak),
        "peak_line": report.peak_line,
        "sustained": number(report.sustained),
        "sustained_line": report.sustained_line,
        "melt_volume": number(report.melt_volume),
        "capacity": json.estimate(report.capacity, "mm3/s"),
        "skip": json.estimate(report.skip, "mm3/s"),
        "profile_cap": number(report.cap),
        "share_of_time_above_capacity": number(report.above_capacity_time),
        "share_of_volume_above_capacity": number(report.above_capacity_volume),
        "share_of_time_above_skip": number(report.above_skip_time),
        "share_of_volume_above_skip": number(report.above_skip_volume),
        "exceeds": report.exceeds,
        "cases": [json.case_tree(case) for case in report.cases],
        "verdict": report.verdict,
        "windows": [_window(row) for row in report.windows],
        "places": [
            {"line": x.line, "height": number(x.height), "feature": x.feature, "limit": x.limit,
             "asked": number(x.asked), "allowed": number(x.allowed), "time": number(x.time)}
            for x in report.places
        ],
        "place_count": report.place_count,
        "refused": [
            {"kind": x.kind, "count": x.count, "line": x.line, "asked": number(x.asked),
             "allowed": number(x.allowed)}
            for x in report.refused
        ],
        "share_of_time_above_any_limit": number(report.above_any),
        "cap_that_removes": number(report.cap_that_removes),
        "sure": number(report.sure),
        "features": [_row(row, "feature") for row in report.features],
        "layers": [_row(row, "layer") for row in report.layers],
        "worst": [
            {"line": x.line, "height": number(x.height), "flow": number(x.flow),
             "feature": x.feature}
            for x in report.worst
        ],
        "extruder_peak_speed": number(report.extruder_peak_speed),
        "extruder_peak_accel": number(report.extruder_peak_accel),
        "share_of_corner_speed": number(report.advance_speed_share),
        "remarks": [unicode_text(text) for text in report.remarks],
        "lacking": list(report.lacking),
        "weighed": json.weighed_tree(report.weighed),
        "files": json.files(report.files),
        "errors": [unicode_text(error) for error in report.errors],
    })  # fmt: skip


def _window(row: WindowRow) -> json.Tree:
    number = json.number
    allowed = {"value": row.allowed.value, "low": row.allowed.low, "high": row.allowed.high}
    return {
        "limit": row.limit,
        "window_s": number(row.window_s),
        "window_mm3": number(row.window_mm3),
        "shortest_s": number(row.shortest_s),
        "asked": number(row.asked),
        "line": row.line,
        "allowed": {name: number(value) for name, value in allowed.items()},
        "share_of_time_above": number(row.share_above),
    }


def _row(row: DemandRow, what: str) -> json.Tree:
    return {
        what: row.name,
        "height": json.number(row.height),
        "time": json.number(row.time),
        "volume": json.number(row.volume),
        "peak": json.number(row.peak),
        "sustained": json.number(row.sustained),
        "share_of_time_above_capacity": json.number(row.above_time),
        "share_of_volume_above_capacity": json.number(row.above_volume),
    }


def render_csv(report: DemandReport) -> str:
    """Return the flow over time as CSV: s, s, mm3/s, mm3/s, mm, line."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    stream.write(f"{CSV_HEAD}\n")
    writer.writerows(_cells(dataclasses.astuple(row)) for row in report.series)
    return stream.getvalue()


def _cells(values: Iterable[float | None]) -> list[str]:
    return ["" if value is None else f"{value:.9g}" for value in values]
