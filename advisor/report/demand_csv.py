"""The flow of a print over time as CSV."""

from __future__ import annotations

import csv
import dataclasses
import io
from collections.abc import Iterable

from advisor.answers import DemandReport

__all__ = ["CSV_HEAD", "render_csv"]

CSV_HEAD = "time_s,duration_s,mean_flow_mm3_s,peak_flow_mm3_s,height_mm,line"
"""The first line of the table; by it we know an earlier one."""


def render_csv(report: DemandReport) -> str:
    """Return the flow over time as CSV: s, s, mm3/s, mm3/s, mm, line."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    stream.write(f"{CSV_HEAD}\n")
    writer.writerows(_cells(dataclasses.astuple(row)) for row in report.series)
    return stream.getvalue()


def _cells(values: Iterable[float | None]) -> list[str]:
    return ["" if value is None else f"{value:.9g}" for value in values]
