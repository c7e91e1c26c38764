"""The way of the filament: what each stage allows, where the neck is, whether the ask fits.

First the answer in three lines (capacity, bottleneck, asked), then one line a stage in the
order the filament takes. It draws nothing that does not also stand in words.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from advisor.frozen import frozen
from advisor.model import Band, ExtruderReport, Fact, LimitBand, OriginKind
from advisor.report.bar import Scale, axis, legend, scale_for, strand
from advisor.report.lacking import why_not_known
from advisor.report.numbers import band, figure, flow, quantity, share, wide
from advisor.report.page import LABEL, Page
from advisor.report.words import STAGE_LIMITS, StageLimit

__all__ = ["FACTS", "write_answer", "write_way"]

FLOW = "mm3/s"
FLOW_COLUMN, BAND_COLUMN, BEYOND_COLUMN, MARK_COLUMN = 6, 13, 14, 11
FEWEST_CELLS = 12
NO_LIMIT = 1e5  # mm3/s, a firmware limit that holds nothing back
ALL_BUT_CERTAIN = 0.995
_ASKED_BY = {
    "demand.stated_flow": "",
    "demand.print_sustained": " by the print",
    "demand.profile_flow": " by the slicer profile",
    "demand.feature_flow": " by the slicer profile",
}
FACTS = (  # whose numbers are shown here
    "flow.capacity", "flow.firmware", "demand.asked_flow", *_ASKED_BY,
    "drive.gear_ratio", "drive.travel_per_motor_turn",
)  # fmt: skip
_STATED_BY = {OriginKind.COMMAND: " on the command line", OriginKind.SHEET: " in the sheet"}


@frozen
class _Row:
    stage: str
    flow: Band | None
    beyond: str = ""
    mark: str = ""
    words: str = ""  # instead of numbers
    strand: bool = True


def write_answer(page: Page, extruder: ExtruderReport, bands: Mapping[str, Band]) -> None:
    """Write the three lines that matter: capacity with band, bottleneck, whether the ask fits."""
    capacity = bands.get("flow.capacity")
    asked = bands.get("demand.asked_flow")
    if capacity is None:
        page.entry(
            "capacity", f"not known{_reason(extruder, 'flow.capacity')}", label_style="strong"
        )
    else:
        page.entry("capacity", _capacity(capacity), label_style="strong", style="strong")
        page.entry("bottleneck", _bottleneck(extruder), label_style="strong")
    if asked is None:
        text = "nothing yet (give --profile FILE or --asked 20mm3/s)"
        page.entry("asked", text, label_style="strong")
        return
    style, verdict = ("", "") if capacity is None else _verdict(asked.value, capacity)
    text = quantity(asked.value, FLOW) + _asked_by(extruder.facts, bands) + verdict
    page.entry("asked", text, label_style="strong", style=style)


def _reason(extruder: ExtruderReport, fact: str) -> str:
    reason = why_not_known(extruder.facts, fact)
    return f": {reason}" if reason else ""


def _capacity(capacity: Band) -> str:
    value = f"{flow(capacity.value)} {FLOW}"
    if not wide(capacity):
        return value
    return f"{value}, likely {_ends(capacity)}"


def _ends(flows: Band) -> str:
    """Return the ends of a band of flows: short, and no finer than anybody could set."""
    low = _end(flows.low)
    return f"{low} to {_end(flows.high)}" if math.isfinite(flows.high) else f"{low} up"


def _end(value: float) -> str:
    return figure(value if value >= 1.0 else round(value, 1), 2)


def _bottleneck(extruder: ExtruderReport) -> str:
    name = extruder.bottleneck
    if name is None:
        return "not known"
    part = next((x.bottleneck_share for x in extruder.limits if x.limit == name), 0.0)
    certain = not 0.0 < part < ALL_BUT_CERTAIN
    text = name if certain else f"{name} (in {share(part)} of likely machines)"
    return (
        f"{text}; level with it: {', '.join(extruder.level_with)}" if extruder.level_with else text
    )


def _verdict(asked: float, capacity: Band) -> tuple[str, str]:
    """Return the style and the words of how the asked flow compares with the capacity."""
    if capacity.value <= 0.0:
        return "error", ": too much, nothing gets through"
    times = f"{figure(asked / capacity.value, 2)} times the capacity"
    if asked > capacity.high:
        return "error", f": too much, {times}"
    if asked > capacity.value:
        return "warning", f": likely too much, {times}"
    part = f"{figure(100 * asked / capacity.value, 2)} % of the capacity"
    if asked <= capacity.low:
        return "", f": fits, {part}"
    return "warning", f": just fits, {part}, yet above its low end"


def _asked_by(facts: Mapping[str, Fact], bands: Mapping[str, Band]) -> str:
    """Say who asks: the first of the known asks that has the value of the asked flow."""
    asked = bands["demand.asked_flow"].value
    for name, words in _ASKED_BY.items():
        if name in bands and math.isclose(bands[name].value, asked, rel_tol=1e-9):
            return words or _STATED_BY.get(facts[name].origin.kind, "")
    return _STATED_BY.get(facts["demand.asked_flow"].origin.kind, "")


def write_way(page: Page, extruder: ExtruderReport, bands: Mapping[str, Band]) -> None:
    """Write one line a stage: flow, band, what happens beyond it, the mark and the strand."""
    rows = list(_rows(extruder, bands))
    fixed = LABEL + FLOW_COLUMN + BAND_COLUMN + BEYOND_COLUMN + MARK_COLUMN
    cells = page.look.width - fixed - 1
    flows = _shown_flows(extruder, bands)
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


def _shown_flows(extruder: ExtruderReport, bands: Mapping[str, Band]) -> list[float]:
    """Return the flows that the scale must hold: the capacity and what is near it."""
    capacity = bands.get("flow.capacity")
    if capacity is None:
        return [x.flow for x in extruder.limits if x.flow is not None]
    near = [x.flow for x in extruder.limits if x.flow is not None and x.flow < 2 * capacity.value]
    return [capacity.value, min(capacity.high, 3 * capacity.value), *near]


def _write_row(page: Page, row: _Row, scale: Scale) -> None:
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
    ends = _ends(limit) if wide(limit) else ""
    return flow(limit.value).rjust(FLOW_COLUMN) + f"  {ends}".ljust(BAND_COLUMN)


def _in_words(page: Page, rows: list[_Row]) -> None:
    """One sentence a stage, for narrow or dumb terminals."""
    page.heading("The way of the filament (bands: nine machines of ten)")
    for row in rows:
        text = row.words or (band(row.flow, FLOW) if row.flow else "not known")
        beyond = f"{'beyond that ' if row.strand else ''}{row.beyond}" if row.beyond else ""
        page.entry(row.stage, "; ".join(part for part in (text, beyond, row.mark) if part))


def _rows(extruder: ExtruderReport, bands: Mapping[str, Band]) -> Iterator[_Row]:
    limits = {x.limit: x for x in extruder.limits}
    for entry in STAGE_LIMITS:
        yield _limit_row(entry, limits, extruder)
        if entry.stage == "motor" and (words := _gears(bands)):
            yield _Row("gears", None, words=words)
    if firmware := bands.get("flow.firmware"):
        yield _firmware_row(firmware)
    asked = bands.get("demand.asked_flow")
    yield (
        _Row("slicer", asked, "asked", strand=False)
        if asked
        else _Row("slicer", None, words="asks nothing yet")
    )


def _firmware_row(firmware: Band) -> _Row:
    if firmware.value >= NO_LIMIT:
        return _Row("firmware", None, words="lets through whatever is asked")
    return _Row("firmware", firmware, "held back")


def _limit_row(
    entry: StageLimit, limits: Mapping[str, LimitBand], extruder: ExtruderReport
) -> _Row:
    limit, lost = limits.get(entry.limit), limits.get(entry.lost or "")
    beyond = entry.beyond
    if lost is not None and lost.flow is not None:
        beyond = f"{entry.lost_words} {flow(lost.flow)}"
    if limit is None or (limit.flow is None and not limit.beyond):
        return _Row(entry.stage, None, words="not known" + _reason(extruder, f"flow.{entry.limit}"))
    return _Row(entry.stage, _limit_band(limit), beyond, _mark(entry.limit, extruder))


def _mark(limit: str, extruder: ExtruderReport) -> str:
    """Mark the bottleneck; where the capacity is not known, the lowest known limit is none."""
    capacity = extruder.facts.get("flow.capacity")
    if capacity is None or not capacity.known:
        return ""
    if limit == extruder.bottleneck:
        return "bottleneck"
    return "level" if limit in extruder.level_with else ""


def _limit_band(limit: LimitBand) -> Band:
    far = float("inf")
    value = far if limit.flow is None else limit.flow
    low = limit.low if limit.low is not None else value
    return Band(value, low, far if limit.high is None else limit.high)


def _gears(bands: Mapping[str, Band]) -> str:
    ratio, travel = bands.get("drive.gear_ratio"), bands.get("drive.travel_per_motor_turn")
    if travel is None and ratio is not None and ratio.value == 1.0:
        return ""  # the firmware's default, while the gears themselves are not known
    parts = [f"{figure(ratio.value)}:1"] if ratio else []
    if travel:
        parts.append(f"{quantity(travel.value, 'mm')} of filament per motor turn")
    return ", ".join(parts)
