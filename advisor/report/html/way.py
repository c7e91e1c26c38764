"""The filament path on the page: one row a stage, in words, with its strand and the neck."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from advisor.base import Band, ExtruderReport
from advisor.report.bar import scale_for
from advisor.report.html.layout import Child, Markup, Part, Place, data, element, section
from advisor.report.html.marks import PageScale, axis, legend, neck, strand
from advisor.report.numbers import RANGE, flow, ranged, wide
from advisor.report.way_words import WayRow, shown_flows, way_rows

__all__ = ["way_section"]

_FINE = 1000  # cells; the page has no character cells, but the scale is cut into some
_MARKS = {
    "bottleneck": "bottleneck",
    "about equal": "about equal to the bottleneck",
}


def way_section(place: Place, extruder: ExtruderReport, bands: Mapping[str, Band]) -> Part:
    """Return the section on what each stage of an extruder lets through.

    Parameters
    ----------
    place : Place
        Where it stands.
    extruder : ExtruderReport
        What was worked out.
    bands : mapping of str to Band
        Its numbers.
    """
    rows = list(way_rows(extruder, bands))
    scale = _scale(extruder, bands)
    lead = (
        "How much flow each stage lets through, in the order the filament takes. The filament at "
        f"the left is as wide as the flow that gets through. {RANGE}"
    )
    stages = [_stage(row, scale, above) for row, above in _with_widths(rows)]
    return section(
        place, "way", "Filament path",
        element("p", lead, class_="lead"),
        element("div", axis(scale), class_="scale", aria_hidden="true") if scale else None,
        element("ol", *stages, class_="way"),
        legend(scale.asked is not None) if scale else None,
    )  # fmt: skip


def _scale(extruder: ExtruderReport, bands: Mapping[str, Band]) -> PageScale | None:
    flows = shown_flows(extruder, bands)
    if not flows:
        return None
    band = bands.get("demand.asked_flow")
    asked = band.value if band is not None else None
    return PageScale(scale_for(flows=flows, asked=asked, cells=_FINE, drawn=True).top, asked)


def _with_widths(rows: list[WayRow]) -> Iterator[tuple[WayRow, tuple[float, float]]]:
    """Yield each row with the flow that the stage above and the stage itself let through."""
    above = float("inf")
    for row in rows:
        here = row.flow.value if row.flow is not None and row.strand else above
        yield row, (above, here)
        above = here


def _stage(row: WayRow, scale: PageScale | None, widths: tuple[float, float]) -> Markup:
    drawn: list[Child] = []
    if scale is not None:
        drawn = [neck(scale, row.stage, *widths), strand(scale, row.stage, _drawn(row))]
    mark = element("strong", _MARKS.get(row.mark, row.mark), class_="mark") if row.mark else None
    words = element("p", *_words(row), class_="says")
    name = element("p", element("b", row.stage), mark, class_="stage")
    return element("li", drawn[:1], name, words, drawn[1:], data_stage=row.stage,
                   class_=row.mark or None)  # fmt: skip


def _drawn(row: WayRow) -> Band | None:
    return row.flow if row.strand else None


def _words(row: WayRow) -> list[Child]:
    if row.words:
        return [row.words]
    if row.flow is None:
        return ["not known"]
    shown: list[Child] = [data(element("b", flow(row.flow.value)), row.flow)]
    if row.strand and wide(row.flow):
        shown.append(f" {ranged(row.flow, '').partition(' ')[2]}")
    shown.append(" mm3/s")
    if not row.strand:
        return [*shown, " requested"]
    if row.beyond:
        says_where = any(letter.isdigit() for letter in row.beyond) or row.beyond.startswith("as ")
        shown.append(f"; {row.beyond}" if says_where else f"; above that: {row.beyond}")
    return shown
