"""The grip on the page: how near each filament is to slipping and grinding, in which gears."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.answers import GripReport, GripRow
from advisor.base import Band
from advisor.report.grip_text import answer, percent, verdict
from advisor.report.html.layout import Child, Markup, Part, Place, element, section, table, terms
from advisor.report.html.marks import PageScale, strand
from advisor.report.numbers import figure, quantity, ranged, share
from advisor.report.words import material_words

__all__ = ["grip_section"]

_HEADS = ("filament", "grip in use", "result", "under-extrusion from, mm3/s")
_MORE = ("filament", "holds", "not ground", "grip, N", "pressure, MPa", "yields at, MPa")
_LEAD = (
    "At one flow: the machine's own filament as it is run, others at their usual temperature. The "
    "bars go to 150 % of the grip; at the dashed line under-extrusion starts, at 100 % the "
    "filament is ground. It is a shear estimate: a pull with a spring scale or a weighed test "
    "settles it."
)
_TOP = 150.0  # % of the grip; the filament is ground at 100
_NO_FIGURE = 10.0  # times the grip: more is no figure anybody could use


def grip_section(place: Place, report: GripReport) -> Part:
    """Return the section on the grip."""
    title = "Grip of the gears on the filament"
    own = next((row for row in report.rows if row.present), None)
    if own is None:
        sentences = [element("p", words) for words in report.lacking]
        return section(place, "grip", title, sentences or element("p", "Not known."))
    words, _ = answer(report)
    push = ranged(report.push, "N") if report.push is not None else None
    pairs: list[tuple[str, Child]] = [("answer", words), ("flow", report.flow_is), ("push", push)]
    rows = [row for row in report.rows if row.gears == own.gears]
    gears = f"{figure(own.driven_gears.value)} x {quantity(own.gear_diameter, 'mm')}"
    marked = [i for i, row in enumerate(rows) if row.present]
    return section(
        place, "grip", title,
        terms(pairs),
        element("p", _LEAD, class_="lead"),
        [element("p", words) for words in report.remarks],
        table(f"Filaments in these gears ({gears}), the machine's own marked", _HEADS,
              [_row(row, report) for row in rows], label=place.label, marked=marked, fits=True),
        element("details", element("summary", "How sure that is, and the figures behind it"),
                table("How sure it holds and is not ground; grip and pressure", _MORE,
                      map(_more, rows), label=place.label, marked=marked, fits=True)),
        _gears(report, own, place),
        terms([("caution", " ".join(report.cautions))]),
    )  # fmt: skip


def _row(row: GripRow, report: GripReport) -> Sequence[Child]:
    falls = row.grip_flow
    return (
        _name(row), [_bar(row, report), element("span", _percent(row.share))],
        verdict(row, report.usable_share or 1.0), "" if falls is None else ranged(falls, ""),
    )  # fmt: skip


def _more(row: GripRow) -> Sequence[Child]:
    return (
        _name(row), share(1.0 - row.marks), share(1.0 - row.grinds), ranged(row.grip, ""),
        ranged(row.pressure, ""), figure(row.yield_strength.value),
    )  # fmt: skip


def _name(row: GripRow) -> str:
    return f"{material_words(row.material)}{' (this machine)' if row.present else ''}"


def _bar(row: GripRow, report: GripReport) -> Markup:
    """Return the strand of a share: at the dashed line under-extrusion starts."""
    part = Band(100 * row.share.value, 100 * row.share.low, 100 * row.share.high)
    scale = PageScale(_TOP, 100 * (report.usable_share or 1.0))
    words = f"{material_words(row.material)}: {_percent(row.share)} of the grip"
    return strand(scale, "grip", part, words=words)


def _percent(part: Band) -> str:
    if part.value > _NO_FIGURE:
        return f">{figure(100 * _NO_FIGURE)} %"
    return percent(part)


def _gears(report: GripReport, own: GripRow, place: Place) -> Markup | None:
    sizes = sorted({(r.gear_diameter, r.driven_gears.value, r.gears) for r in report.rows})
    if len(sizes) < 2:
        return None
    found = {(row.material, row.gears): row for row in report.rows}
    materials = dict.fromkeys(row.material for row in report.rows)
    heads = [f"{figure(n)} x {figure(d)} mm, {g if g != own.gears else 'this machine'}"
             for d, n, g in sizes]  # fmt: skip
    rows = [
        (material_words(name), *(_cell(found.get((name, gears)), report) for _, _, gears in sizes))
        for name in materials
    ]
    caption = "Share of the grip in use with the same push in other gears"
    return table(caption, ("filament", *heads), rows, label=place.label)


def _cell(row: GripRow | None, report: GripReport) -> str:
    if row is None:
        return "?"
    used = min(row.share.value, _NO_FIGURE)
    more = ">" if row.share.value > _NO_FIGURE else ""
    found = verdict(row, report.usable_share or 1.0)
    return f"{more}{figure(100 * used, 2)} %, {found}"
