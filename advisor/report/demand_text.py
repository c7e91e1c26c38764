"""The answer of `demand` for people: does it fit, then where and when it asks the most."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from advisor.model import Band
from advisor.records import DemandReport, DemandRow
from advisor.report.bar import axis, legend, scale_for, strand
from advisor.report.look import Look
from advisor.report.numbers import band, figure, flow, quantity, share
from advisor.report.page import LABEL, Page
from advisor.report.unused import write_unused
from advisor.report.weigh_note import write_weighed

__all__ = ["answer_words", "clock", "render", "stretches"]

FLOW = "mm3/s"
_MOST_ROWS = 12
_HEIGHT = 12  # columns of the height and of the flow beside a strand
_MOST_REMARKS = 6


def render(report: DemandReport, look: Look | None = None) -> str:
    """Return the answer as text."""
    page = Page(look or Look())
    write_unused(page, report.files)
    _write_answer(page, report)
    _write_numbers(page, report)
    _write_heights(page, report)
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


def answer_words(report: DemandReport) -> tuple[str, str]:
    """Return whether the print fits, and the style of that sentence."""
    if report.exceeds:
        return "the print asks for more than this extruder delivers", "error"
    if report.exceeds is None:
        return "not known", "strong"
    if report.sure:
        words = f"it fits, but not surely: too much in {share(report.sure)} of likely machines"
        return words, "strong"
    return "it fits", "strong"


def _write_answer(page: Page, report: DemandReport) -> None:
    words, style = answer_words(report)
    page.entry("answer", words, label_style="strong", style=style)
    for sentence in report.lacking:
        page.entry("", sentence)


def _write_numbers(page: Page, report: DemandReport) -> None:
    if report.sustained is not None:
        over = f", the mean over {figure(report.melt_volume)} mm3, what the melt zone holds"
        page.entry(
            "sustained", f"{flow(report.sustained)} {FLOW} in line {report.sustained_line}{over}"
        )
    page.entry("peak", f"{flow(report.peak)} {FLOW} in line {report.peak_line}")
    if report.capacity is not None:
        page.entry("capacity", band(report.capacity, FLOW))
        write_weighed(page, report.weighed)
        page.entry(
            "above it",
            f"{share(report.above_capacity_time)} of the time, "
            f"{share(report.above_capacity_volume)} of the volume",
        )
    if report.skip is not None and report.above_skip_time:
        page.entry("skips", f"{share(report.above_skip_time)} of the time above {_skip(report)}")
    if report.cap is not None:
        page.entry("cap", f"{flow(report.cap)} {FLOW} in the slicer profile{_cap(report)}")
    filament = f"{figure(report.filament / 1e3)} m of filament"
    page.entry("print", f"{report.moves} moves, {clock(report.time)} of motion, {filament}")
    page.entry("filament", _filament(report))


def _skip(report: DemandReport) -> str:
    assert report.skip is not None
    return f"{flow(report.skip.value)} {FLOW}, where the motor skips"


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


def _write_heights(page: Page, report: DemandReport) -> None:
    rows = stretches(report.layers)
    if len(rows) < 2 or not page.look.bars:
        return
    page.heading("Flow over height in mm3/s (doubled: sustained; single: peak)")
    asked = report.capacity.value if report.capacity is not None else None
    cells = page.look.width - LABEL - _HEIGHT
    peaks = [row.peak for row in rows]
    scale = scale_for(flows=peaks, asked=asked, cells=cells, drawn=page.look.drawn)
    page.row(("height".ljust(LABEL) + "sust. peak".ljust(_HEIGHT) + axis(scale), ""))
    for row in reversed(rows):
        sustained = min(row.peak if row.sustained is None else row.sustained, row.peak)
        numbers = f"{flow(sustained):>5} {flow(row.peak):>5}".ljust(_HEIGHT)
        drawn = strand(scale, Band(row.peak, sustained, row.peak))
        page.row((f"{row.name:<{LABEL}}", ""), (numbers, ""), (drawn, ""))
    words = legend(scale).replace("sure", "sustained").replace("likely", "peak")
    words = words.replace("   o nominal", "").replace("asked", "capacity")
    page.row((" " * LABEL + words, ""))


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
    for row in rows:
        page.indented(_row(row), 1)


def _row(row: DemandRow) -> str:
    sustained = "too short to sustain"
    if row.sustained is not None:  # a window may reach back into a faster feature
        sustained = f"{flow(min(row.sustained, row.peak))} {FLOW}"
    text = f"{row.name}: {sustained}, peak {flow(row.peak)}; {clock(row.time)}"
    if row.above_time:
        text += f"; above capacity {share(row.above_time)} of its time"
    return text


def _write_worst(page: Page, report: DemandReport) -> None:
    if not report.worst:
        return
    page.heading("Where it asks the most")
    for place in report.worst:
        height = "" if place.height is None else f", height {figure(place.height)} mm"
        feature = f", {place.feature.replace('-', ' ')}" if place.feature else ""
        page.indented(f"{report.path}:{place.line}: {flow(place.flow)} {FLOW}{height}{feature}", 1)


def _write_remarks(page: Page, report: DemandReport) -> None:
    if not report.remarks:
        return
    page.heading("Read with reserve")
    for sentence in report.remarks[:_MOST_REMARKS]:
        page.indented(sentence, 1)
    rest = len(report.remarks) - _MOST_REMARKS
    if rest > 0:
        page.indented(f"and {rest} more (--format json lists all)", 1)
