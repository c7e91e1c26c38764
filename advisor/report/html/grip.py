"""The grip on the page: how near each material is to marking and grinding, in which gears."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.answers import GripReport, GripRow
from advisor.base import Band
from advisor.report.grip_words import answer, verdict
from advisor.report.html.elements import Child, Markup, element
from advisor.report.html.layout import Part, Place, section, table, terms
from advisor.report.html.marks import Scale, strand
from advisor.report.numbers import band, figure, quantity, share

__all__ = ["grip_section"]

_HEADS = (
    "material", "to 150 % of the grip", "grip in use", "so the filament", "marked in", "ground in",
    "grip, N", "pressure, MPa", "yield strength, MPa", "delivery falls from, mm3/s",
)  # fmt: skip
_LEAD = (
    "At one flow, the machine's own filament as it is run, others at their usual temperature. The "
    "dashed line is where delivery begins to fall. It is a shear estimate: a pull with a spring "
    "scale or a weighed test settles it."
)
_TOP = 150.0  # % of the grip; the filament is ground at 100


def grip_section(place: Place, report: GripReport) -> Part:
    """Return the section on the grip."""
    title = "Grip of the gears on the filament"
    own = next((row for row in report.rows if row.present), None)
    if own is None:
        sentences = [element("p", words) for words in report.lacking]
        return section(place, "grip", title, sentences or element("p", "Not known."))
    words, _ = answer(report)
    push = band(report.push, "N") if report.push is not None else None
    pairs: list[tuple[str, Child]] = [("answer", words), ("flow", report.flow_is), ("push", push)]
    rows = [row for row in report.rows if row.gears == own.gears]
    gears = f"{figure(own.driven_gears.value)} x {quantity(own.gear_diameter, 'mm')}"
    return section(
        place, "grip", title,
        terms(pairs),
        element("p", _LEAD, class_="lead"),
        [element("p", words) for words in report.remarks],
        table(f"Materials in these gears ({gears}), the machine's own marked", _HEADS,
              [_row(row, report) for row in rows], label=place.label,
              marked=[i for i, row in enumerate(rows) if row.present]),
        _gears(report, own, place),
        terms([("mind", " ".join(report.cautions))]),
    )  # fmt: skip


def _row(row: GripRow, report: GripReport) -> Sequence[Child]:
    own = " (this machine)" if row.present else ""
    falls = row.grip_flow
    return (
        f"{row.material}{own}", _bar(row, report), _percent(row.share),
        verdict(row, report.usable_share or 1.0), share(row.marks), share(row.grinds),
        band(row.grip, ""), band(row.pressure, ""),
        figure(row.yield_strength.value), "" if falls is None else band(falls, ""),
    )  # fmt: skip


def _bar(row: GripRow, report: GripReport) -> Markup:
    """Return the strand of a share: the dashed line is where delivery begins to fall."""
    part = Band(100 * row.share.value, 100 * row.share.low, 100 * row.share.high)
    scale = Scale(_TOP, 100 * (report.usable_share or 1.0))
    return strand(scale, "grip", part, words=f"{row.material}: {_percent(row.share)} of the grip")


def _percent(part: Band) -> str:
    return band(Band(100 * part.value, 100 * part.low, 100 * part.high), "%")


def _gears(report: GripReport, own: GripRow, place: Place) -> Markup | None:
    sizes = sorted({(r.gear_diameter, r.driven_gears.value, r.gears) for r in report.rows})
    if len(sizes) < 2:
        return None
    found = {(row.material, row.gears): row for row in report.rows}
    materials = dict.fromkeys(row.material for row in report.rows)
    heads = [f"{figure(n)} x {figure(d)} mm, {g if g != own.gears else 'this machine'}"
             for d, n, g in sizes]  # fmt: skip
    rows = [
        (name, *(_cell(found.get((name, gears)), report) for _, _, gears in sizes))
        for name in materials
    ]
    caption = "Share of the grip in use with the same push in other gears"
    return table(caption, ("material", *heads), rows, label=place.label)


def _cell(row: GripRow | None, report: GripReport) -> str:
    if row is None:
        return "?"
    return f"{figure(100 * row.share.value, 2)} %, {verdict(row, report.usable_share or 1.0)}"
