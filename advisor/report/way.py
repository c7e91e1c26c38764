"""The filament path: what each stage allows, where the neck is, whether the request fits.

First the answer (whether it fits, capacity, bottleneck, what helps), then one line a stage in the
order the filament takes. It draws nothing that does not also stand in words.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from advisor.base import Band, ExtruderReport, Finding
from advisor.report.bar import Scale, axis, legend, scale_for, strand
from advisor.report.numbers import figure, flow, ranged, wide
from advisor.report.page import LABEL, Page
from advisor.report.way_words import (
    FACTS,
    WayRow,
    answer_words,
    ends,
    shown_flows,
    way_rows,
    why_not_known,
)
from advisor.report.words import STAGE_LIMITS

__all__ = ["FACTS", "write_answer", "write_way"]

FLOW = "mm3/s"
FLOW_COLUMN, BAND_COLUMN, BEYOND_COLUMN, MARK_COLUMN = 6, 13, 14, 12
FEWEST_CELLS = 12
_SELDOM = 0.01  # share of likely machines below which a limit is never the lowest


def write_answer(
    page: Page,
    extruder: ExtruderReport,
    bands: Mapping[str, Band],
    *,
    full: bool = True,
    found: Sequence[Finding] = (),
) -> None:
    """Write the lines that matter: whether it fits, the capacity, the bottleneck, what helps."""
    for said in answer_words(extruder, bands, full=full, found=found):
        page.entry(said.label, said.text, label_style="strong", style=said.style)


def write_way(
    page: Page, extruder: ExtruderReport, bands: Mapping[str, Band], *, full: bool = True
) -> None:
    """Write one line a stage: flow, range, what happens above it, the mark and the strand.

    Unless `full`, the limits that are too high to matter are only named.
    """
    rows, high = list(way_rows(extruder, bands)), list[WayRow]()
    if not full:
        rows, high = _that_matter(rows, extruder, bands)
    if not rows:
        return
    fixed = LABEL + FLOW_COLUMN + BAND_COLUMN + BEYOND_COLUMN + MARK_COLUMN
    cells = page.look.width - fixed - 1
    flows = shown_flows(extruder, bands)
    if not page.look.bars or cells < FEWEST_CELLS or not flows:
        _in_words(page, rows, high)
        return
    asked = bands.get("demand.asked_flow")
    scale = scale_for(
        flows=flows, asked=asked.value if asked else None, cells=cells, drawn=page.look.drawn
    )
    head = "limit".rjust(FLOW_COLUMN) + " (range)".ljust(BAND_COLUMN) + "above that"
    page.blank()
    page.row((FLOW, ""), (" " * (LABEL - len(page.text(FLOW))), ""),
             (head.ljust(fixed - LABEL) + axis(scale), ""))  # fmt: skip
    for row in rows:
        _write_row(page, row, scale)
    _write_high(page, high)
    page.row((" " * LABEL + legend(scale, line="requested", plain=True), ""))


def _that_matter(
    rows: Sequence[WayRow], extruder: ExtruderReport, bands: Mapping[str, Band]
) -> tuple[list[WayRow], list[WayRow]]:
    """Return the stages that may limit, and those whose limit is too high to."""
    capacity, asked = bands.get("flow.capacity"), bands.get("demand.asked_flow")
    if capacity is None:
        said = f"not known: {why_not_known(extruder.facts, 'flow.capacity')}"
        return [row for row in rows if row.words != said and not _says_nothing(row)], []
    stages = {entry.limit: entry.stage for entry in STAGE_LIMITS}
    lowest = {stages.get(x.limit) for x in extruder.limits if x.bottleneck_share >= _SELDOM}
    shown, high = [], []
    for row in rows:
        limits = row.mark or row.stage in lowest or (asked and row.flow and _below(row.flow, asked))
        if row.flow is not None and row.strand and not limits:
            high.append(row)
        elif row.words.startswith("not known") or (row.flow is not None and row.strand):
            shown.append(row)
    return shown, high


def _below(limit: Band, asked: Band) -> bool:
    return limit.low < asked.value


def _says_nothing(row: WayRow) -> bool:
    return bool(row.words) and not row.words.startswith("not known")


def _write_high(page: Page, high: Sequence[WayRow]) -> None:
    if high:
        page.entry("higher", _high(high))


def _high(high: Sequence[WayRow]) -> str:
    return ", ".join(f"{row.stage} {figure(row.flow.value)}" for row in high if row.flow)


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
        return "?".rjust(FLOW_COLUMN) + " not known".ljust(BAND_COLUMN)
    likely = f"({ends(limit)})" if wide(limit) else ""
    return flow(limit.value).rjust(FLOW_COLUMN) + f" {likely}".ljust(BAND_COLUMN)


def _in_words(page: Page, rows: Sequence[WayRow], high: Sequence[WayRow]) -> None:
    """One sentence a stage, for narrow or dumb terminals."""
    page.heading("Filament path")
    for row in rows:
        text = row.words or (ranged(row.flow, FLOW) if row.flow else "not known")
        page.entry(row.stage, "; ".join(part for part in (text, row.beyond, row.mark) if part))
    _write_high(page, high)
