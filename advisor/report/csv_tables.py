"""Answers as CSV: the table of `compare`, and the flow of a print over time."""

from __future__ import annotations

import csv
import dataclasses
import io
from collections.abc import Iterable, Iterator

from advisor.answers import CompareReport, DemandReport
from advisor.base import Band
from advisor.report.clean import cell_text
from advisor.report.json import number
from advisor.report.json.builds import FIGURES

__all__ = ["CSV_HEAD", "render_compare_csv", "render_demand_csv"]

CSV_HEAD = "time_s,duration_s,mean_flow_mm3_s,peak_flow_mm3_s,height_mm,line"
"""The first line of the table; by it we know an earlier one."""


def render_compare_csv(report: CompareReport) -> str:
    """Return the table as CSV, the unit in each column's name, ends of bands in columns."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    ends = [f"{key}{end}_{unit.replace('/', '_')}".removesuffix("_")
            for key, unit in FIGURES.items() for end in ("", "_low", "_high")]  # fmt: skip
    writer.writerow(["number", "name", "bottleneck", *ends, "above_derated", "better_share",
                     "worse_share", "delivers_asked", "narrower", "advance_inside"])  # fmt: skip
    for row in report.variants:
        cells = [cell for key in FIGURES for cell in _ends(getattr(row, key))]
        shares = (row.better_share, row.worse_share, row.delivers_asked, row.narrower)
        head = [row.number, cell_text(row.name), row.bottleneck or ""]
        flags = (_flag(row.above_derated), _flag(row.advance_inside))
        writer.writerow([*head, *cells, flags[0], *map(_cell, shares), flags[1]])
    return stream.getvalue()


def _flag(holds: bool | None) -> str:
    return "" if holds is None else "yes" if holds else "no"


def _ends(band: Band | None) -> Iterator[str]:
    for value in (band.value, band.low, band.high) if band is not None else (None,) * 3:
        yield _cell(value)


def _cell(value: float | None) -> str:
    rounded = number(value)
    return "" if rounded is None else f"{rounded:.9g}"


def render_demand_csv(report: DemandReport) -> str:
    """Return the flow over time as CSV: s, s, mm3/s, mm3/s, mm, line."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    stream.write(f"{CSV_HEAD}\n")
    writer.writerows(_cells(dataclasses.astuple(row)) for row in report.series)
    return stream.getvalue()


def _cells(values: Iterable[float | None]) -> list[str]:
    return ["" if value is None else f"{value:.9g}" for value in values]
