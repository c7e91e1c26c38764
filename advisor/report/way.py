"""The way of the filament: what each stage allows, where the neck is, whether the ask fits.

First the answer in three lines (capacity, bottleneck, asked), then one line a stage in the
order the filament takes. It draws nothing that does not also stand in words.
"""

from __future__ import annotations

from collections.abc import Mapping

from advisor.base import Band, ExtruderReport
from advisor.report.bar import Scale, axis, legend, scale_for, strand
from advisor.report.numbers import band, flow, wide
from advisor.report.page import LABEL, Page
from advisor.report.way_words import FACTS, WayRow, answer_words, ends, shown_flows, way_rows

__all__ = ["FACTS", "write_answer", "write_way"]

FLOW = "mm3/s"
FLOW_COLUMN, BAND_COLUMN, BEYOND_COLUMN, MARK_COLUMN = 6, 13, 14, 12
FEWEST_CELLS = 12


def write_answer(page: Page, extruder: ExtruderReport, bands: Mapping[str, Band]) -> None:
    """Write the three lines that matter: capacity with band, bottleneck, whether the ask fits."""
    for said in answer_words(extruder, bands):
        page.entry(said.label, said.text, label_style="strong", style=said.style)


def write_way(page: Page, extruder: ExtruderReport, bands: Mapping[str, Band]) -> None:
    """Write one line a stage: flow, band, what happens beyond it, the mark and the strand."""
    rows = list(way_rows(extruder, bands))
    fixed = LABEL + FLOW_COLUMN + BAND_COLUMN + BEYOND_COLUMN + MARK_COLUMN
    cells = page.look.width - fixed - 1
    flows = shown_flows(extruder, bands)
    if not page.look.bars or cells < FEWEST_CELLS or not flows:
        _in_words(page, rows)
        return
    asked = bands.get("demand.asked_flow")
    scale = scale_for(
        flows=flows, asked=asked.value if asked else None, cells=cells, drawn=page.look.drawn
    )
    head = "flow".rjust(FLOW_COLUMN) + "  likely".ljust(BAND_COLUMN) + "beyond that"
    page.heading(f"The way of the filament in {FLOW} (likely: nine machines of ten)")
    page.row((" " * LABEL + head.ljust(fixed - LABEL) + axis(scale), ""))
    for row in rows:
        _write_row(page, row, scale)
    page.row((" " * LABEL + legend(scale), ""))


def _write_row(page: Page, row: WayRow, scale: Scale) -> None:
    style = "neck" if row.mark == "bottleneck" else ""
    words = FLOW_COLUMN + BAND_COLUMN + BEYOND_COLUMN + MARK_COLUMN
    if row.words:
        text = row.words.ljust(words)
        if len(text) > words:
            page.entry(row.stage, row.words)
            return
    else:
        text = _numbers(row.flow) + row.beyond.ljust(BEYOND_COLUMN) + row.mark.ljust(MARK_COLUMN)
    drawn = strand(scale, row.flow if row.strand else None)
    page.row((row.stage.ljust(LABEL), style), (text, style), (drawn, ""))


def _numbers(limit: Band | None) -> str:
    if limit is None:
        return "?".rjust(FLOW_COLUMN) + "  not known".ljust(BAND_COLUMN)
    likely = ends(limit) if wide(limit) else ""
    return flow(limit.value).rjust(FLOW_COLUMN) + f"  {likely}".ljust(BAND_COLUMN)


def _in_words(page: Page, rows: list[WayRow]) -> None:
    """One sentence a stage, for narrow or dumb terminals."""
    page.heading("The way of the filament (bands: nine machines of ten)")
    for row in rows:
        text = row.words or (band(row.flow, FLOW) if row.flow else "not known")
        beyond = f"{'beyond that ' if row.strand else ''}{row.beyond}" if row.beyond else ""
        page.entry(row.stage, "; ".join(part for part in (text, beyond, row.mark) if part))
