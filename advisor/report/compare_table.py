"""Writes machines side by side in one table; what is the same in all of them is said below it.

A column that does not fit is named, and told by ``--full``. It works out nothing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from advisor.answers import CompareReport, Variant
from advisor.base import Band, frozen
from advisor.report.clean import cell_width
from advisor.report.numbers import case_degrees, figure, flow, ranged, share
from advisor.report.page import Page, wrapped
from advisor.report.words import limit_words

__all__ = ["ADVANCE_LEGEND", "PUSH_LEGEND", "corner", "label", "push", "write_table"]

_GAP = 2
_FULL_NAME = 44
_LEAST_NAME = 14
_NO_UNIT = ("", "sure")
_ALWAYS = 2  # columns that are shown even where they are the same
_MORE, _LESS, _RETRACT = "more flow than 1", "less flow than 1", "trusted retract speed"
_AFTER_SHARES = _CURRENT = 4  # places of columns
_PEAK = ("motion.max_accel", "motion.pressure_advance")
PUSH_LEGEND = "push in N at which the motor skips at this flow, and at which the filament slips"
ADVANCE_LEGEND = (
    "share of the motor's corner speed in the peak; out: above the trusted speed, or with a "
    "requested flow the usable torque"
)
_ABOVE = "!: above the current that the motor is rated for"
_LEGEND = {  # of heads that say too little
    "more": "more, less: how sure it is that the flow is more, or less, than that of 1",
    "skips": "skips: flow in mm3/s at which the motor skips",
    "push N": "push: at which the motor skips at this flow / the filament slips",
    "peak mm/s": "peak: filament speed with pressure advance while the head accelerates",
    "of corner": f"of corner: {ADVANCE_LEGEND}",
    "retract": "retract: speed in mm/s the motor is trusted with",
    "A RMS": _ABOVE,
}


@frozen
class _Column:
    """A figure of a machine: how it is headed, how it is called in words, what it says."""

    head: str
    words: str
    unit: str
    cell: Callable[[Variant], str]

    def said(self, row: Variant) -> str:
        """Return the figure of a machine in words, with its unit."""
        return f"{self.words} {self.cell(row)} {self.unit}".rstrip()


def label(row: Variant) -> str:
    """Return a machine's number and its short name."""
    return f"{row.number} {row.short or row.name}"


def write_table(page: Page, report: CompareReport, *, measured: bool) -> None:
    """Write one row a machine.

    Parameters
    ----------
    page : Page
        Where to.
    report : CompareReport
        At least one machine.
    measured : bool
        Whether a weighed test narrowed the ranges.
    """
    rows = report.variants
    told, alike = _sorted_out(rows, _columns(report, measured=measured))
    kept, dropped = _fitting(page, rows, told)
    kept = kept if kept[:_ALWAYS] == told[:_ALWAYS] else []
    page.blank()
    if kept:
        _write_rows(page, rows, kept)
    else:
        for row in rows:
            words = "; ".join(x.said(row) for x in told)
            page.indented(f"{label(row)}: {words}", 0)
    if len(rows) > 1 and alike:
        same = ", ".join(x.said(rows[0]) for x in alike)
        page.indented(f"the same in all: {same}", 1)
    if legend := _legend(rows, kept, alike):
        page.indented("; ".join(legend), 1)
    if kept and dropped:
        names = (f"{x.words} ({x.unit})" if x.unit not in _NO_UNIT else x.words for x in dropped)
        page.indented(f"differs too (--full): {', '.join(names)}", 1)


def _sorted_out(
    rows: Sequence[Variant], columns: Sequence[_Column]
) -> tuple[list[_Column], list[_Column]]:
    """Return the columns to be told, and those in which all rows are alike."""
    told = [one for one in columns[:_ALWAYS] if any(one.cell(row) != "-" for row in rows)]
    alike: list[_Column] = []
    for column in columns[_ALWAYS:]:
        cells = {column.cell(row) for row in rows}
        if cells != {"-"}:
            (alike if len(cells) == 1 else told).append(column)
    return told, alike


def _legend(
    rows: Sequence[Variant], kept: Sequence[_Column], alike: Sequence[_Column]
) -> list[str]:
    """Return what the heads mean; that of a current too high stands last, where one is."""
    found = (_LEGEND[x.head] for x in kept if x.head in _LEGEND)
    legend = [words for words in found if words != _ABOVE]
    shows = any(column.head == "A RMS" for column in (*kept, *alike))
    return [*legend, _ABOVE] if shows and any(row.above_derated for row in rows) else legend


def _columns(report: CompareReport, *, measured: bool) -> list[_Column]:
    """Return the figures, what matters most first."""
    columns = [
        _Column("mm3/s", "flow", "mm3/s", _flow),
        _Column("limits first", "limits first:", "", lambda row: limit_words(row.bottleneck)),
        _Column("more", _MORE, "sure", lambda row: _share(row.better_share)),
        _Column("less", _LESS, "sure", lambda row: _share(row.worse_share)),
        _Column("A RMS", "current", "A RMS", _current),
        _Column("push N", "push at skip/slip", "N", _pushes),
        _Column("skips", "skips at", "mm3/s", _skips),
        _Column("motor g", "motor", "g", lambda row: _digits(row.motor_mass, 2)),
        _Column("retract", _RETRACT, "mm/s", lambda row: _digits(row.retract_trusted, 2)),
        _Column("step mm", "microstep", "mm", lambda row: _digits(row.microstep, 2)),
        _Column("lag mm", "lag of the feed", "mm", lambda row: _digits(row.lag, 2)),
    ]
    case = _Column("case degC", "case", "degC", lambda row: case_degrees(row.case_temperature))
    heated = len({_current(row) for row in report.variants}) > 1
    columns.insert(_CURRENT + 1 if heated else _CURRENT + 3, case)
    place = _AFTER_SHARES if any(one in _PEAK for one in report.varied) else len(columns) - 2
    columns[place:place] = _advance()
    if report.asked is not None:
        asked = f"fits {flow(report.asked.value)}"
        columns.insert(2, _Column(asked, asked, "sure", lambda row: _share(row.delivers_asked)))
    if measured:
        columns.append(_Column("narrower", "narrower by", "", _narrower))
    return columns


def _advance() -> list[_Column]:
    return [
        _Column("peak mm/s", "advance peak", "mm/s", lambda row: _digits(row.advance_peak, 2)),
        _Column("of corner", "advance peak of the corner speed", "", corner),
    ]


def _skips(row: Variant) -> str:
    return flow(row.skip.value) if row.skip else "-"


def _flow(row: Variant) -> str:
    if row.capacity is None:
        return "not known"
    ends = ranged(row.capacity, "").partition(" ")[2]
    return f"{flow(row.capacity.value)} {ends}".rstrip()


def _pushes(row: Variant) -> str:
    pushes = (row.skip_push, row.slip_push)
    if all(band is None for band in pushes):
        return "-"
    return "/".join(_digits(band, 2) for band in pushes)


def push(band: Band | None) -> str:
    """Return a push with its range, without its unit."""
    return "-" if band is None else ranged(band, "", 2)


def corner(row: Variant) -> str:
    """Return the share of the corner speed in a pressure-advance peak, and the verdict on it."""
    if row.advance_speed_share is None or row.advance_inside is None:
        return "-"
    return f"{share(row.advance_speed_share.value)} {'in' if row.advance_inside else 'out'}"


def _current(row: Variant) -> str:
    return ("!" if row.above_derated else "") + _digits(row.run_current, 3)


def _narrower(row: Variant) -> str:
    return "-" if row.narrower is None else share(max(row.narrower, 0.0))


def _share(part: float | None) -> str:
    return "-" if part is None else share(part)


def _digits(estimate: Band | None, digits: int) -> str:
    return "-" if estimate is None else figure(estimate.value, digits)


def _width(page: Page, column: _Column, rows: Sequence[Variant]) -> int:
    return max(len(page.text(column.head)), *(cell_width(column.cell(row)) for row in rows)) + _GAP


def _name_width(page: Page, rows: Sequence[Variant]) -> int:
    """Return the columns for the names: what they need, but half of the page at most."""
    needed = max(cell_width(page.text(label(row))) for row in rows) + 1
    return min(needed, max(_LEAST_NAME, min(_FULL_NAME, page.look.width // 2)))


def _fitting(
    page: Page, rows: Sequence[Variant], columns: Sequence[_Column]
) -> tuple[list[_Column], list[_Column]]:
    """Return the columns that fit beside the names, in their order, and the rest."""
    room = page.look.width - _name_width(page, rows)
    kept: list[_Column] = []
    dropped: list[_Column] = []
    for column in columns:
        width = _width(page, column, rows)
        fits = width <= room
        (kept if fits else dropped).append(column)
        room -= width if fits else 0
    return kept, dropped


def _write_rows(page: Page, rows: Sequence[Variant], columns: Sequence[_Column]) -> None:
    widths = [_width(page, column, rows) for column in columns]
    name = _name_width(page, rows)
    heads = "".join(page.text(x.head).rjust(n) for x, n in zip(columns, widths, strict=True))
    page.row((" " * name + heads, "heading"))
    for row in rows:
        cells = "".join(x.cell(row).rjust(n) for x, n in zip(columns, widths, strict=True))
        style = "warning" if row.above_derated else ""
        shown = page.text(label(row))
        first = shown + " " * (name - cell_width(shown))
        if cell_width(shown) > name:
            first = " " * name
            for line in wrapped(shown, page.look.width - 4):
                page.row((line, style))
        page.row((first + cells, style))
