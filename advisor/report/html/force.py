"""Force against flow on the page: where the hotend asks more than a part can give."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.answers import BandLine, ForceReport
from advisor.base import Band
from advisor.report.html.elements import Child, Markup, element
from advisor.report.html.layout import Part, Place, section, table
from advisor.report.html.pictures import SHADED, drawn, figure_with_table, how_to_get
from advisor.report.numbers import flow, ranged

__all__ = ["force_section", "spaced"]

_ROWS = 11
_LEAD = (
    "Pushing filament faster through the hotend needs more force. Where the needed force crosses "
    "what the motor can push, the gears can grip or the unsupported gap can take lies that part's "
    "flow limit."
)


def force_section(place: Place, report: ForceReport) -> Part:
    """Return the section on force against flow."""
    title = "Force against flow"
    if not report.flows or report.needed is None:
        sentences = [element("p", words) for words in report.lacking]
        return section(place, "force", title, sentences or element("p", "Not known."))
    return section(
        place, "force", title,
        element("p", _LEAD, class_="lead"),
        how_to_get(),
        figure_with_table(
            drawn("draw_force", report, place),
            f"Needed and available force in N over flow in mm3/s. {SHADED}",
            _curves(report, place), _levels(report, place),
            label=place.label,
        ),
    )  # fmt: skip


def spaced(count: int, rows: int = _ROWS) -> list[int]:
    """Return the places of at most `rows` evenly spaced entries of `count`, both ends among them.

    >>> spaced(81)
    [0, 8, 16, 24, 32, 40, 48, 56, 64, 72, 80]
    """
    if count <= rows:
        return list(range(count))
    return [round(i * (count - 1) / (rows - 1)) for i in range(rows)]


def _curves(report: ForceReport, place: Place) -> Markup:
    lines = [
        ("needed, N", report.needed), ("motor, usable, N", report.usable),
        ("motor skips at, N", report.stall),
    ]  # fmt: skip
    known = [(name, line) for name, line in lines if line is not None]
    rows = [
        [flow(report.flows[i]), *(_at(line, i) for _, line in known)]
        for i in spaced(len(report.flows))
    ]
    heads = ["flow, mm3/s", *(name for name, _ in known)]
    return table("Force over flow", heads, rows, label=place.label, fits=True)


def _at(line: BandLine, i: int) -> str:
    return ranged(Band(line.value[i], line.low[i], line.high[i]), "")


def _levels(report: ForceReport, place: Place) -> Markup | None:
    rows = list(_level_rows(report))
    if not rows:
        return None
    return table("The other limits, and the flows", ("limit", "value"), rows, label=place.label,
                 fits=True)  # fmt: skip


def _level_rows(report: ForceReport) -> Iterator[Sequence[Child]]:
    levels = (
        ("grip: under-extrusion starts", report.grip_usable, "N"),
        ("grip: the filament slips", report.grip, "N"),
        ("unsupported gap: the filament buckles", report.buckling, "N"),
        ("melt zone", report.melt, "mm3/s"), ("heater", report.heater, "mm3/s"),
        ("capacity", report.capacity, "mm3/s"), ("requested flow", report.asked, "mm3/s"),
    )  # fmt: skip
    for name, level, unit in levels:
        if level is not None:
            yield name, ranged(level, unit)
