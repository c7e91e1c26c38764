"""The answer of `grip` for people: how near to marking and grinding, soft filament first.

What the gears do to the filament is said in the same words on the page.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from advisor.answers import LEVEL, GripReport, GripRow
from advisor.base import Band
from advisor.report.answer_notes import write_unused, write_uses, write_weighed
from advisor.report.bar import Scale, axis, scale_for, strand
from advisor.report.look import Look
from advisor.report.numbers import RANGE, figure, quantity, ranged, share
from advisor.report.page import Page
from advisor.report.words import material_words

__all__ = [
    "CLOSE",
    "GRINDS",
    "HOLDS",
    "answer",
    "likely",
    "own_row",
    "percent",
    "remarks",
    "render",
    "verdict",
]

HOLDS, CLOSE, GRINDS = "holds", "close", "grinds"
_MORE_PUSH = 1.5  # times the push of the machine's own filament, from which it is told
_FAR_MORE = 3.0  # times: more is no figure anybody could use
_START = {
    HOLDS: "the gears hold {material}",
    CLOSE: "{material} is close to slipping",
    GRINDS: "the gears grind {material}",
}
_MATERIAL, _SHARE, _LIKELY, _VERDICT = 12, 6, 15, 8
_TRUST = (
    "the range more than the typical figure; a pull with a spring scale (drive.measured_force in "
    "the sheet) or a weighed test settles it"
)
_COMMON = 3  # filaments that are told beside the machine's own and the softest
_NARROWEST = 13  # cells of a strand
_LEGEND = 64  # columns that the legend takes on one line
_WIDE = 80  # columns from which the legend stands below the strands
_TOP = 1.5  # of the scale: half as much again as the filament bears
_Size = tuple[float, float, str]


def own_row(report: GripReport) -> GripRow:
    """Return the row of the machine as it is."""
    return next(row for row in report.rows if row.present)


def verdict(row: GripRow, usable_share: float) -> str:
    """Return what becomes of the filament: it holds, is close to slipping, or is ground."""
    if row.share.value >= 1.0:
        return GRINDS
    return CLOSE if row.share.value > usable_share * LEVEL else HOLDS


def percent(part: Band) -> str:
    """Return a share with its band in percent."""
    return ranged(Band(100 * part.value, 100 * part.low, 100 * part.high), "%")


def answer(report: GripReport) -> tuple[str, bool]:
    """Return in words what the gears do to the machine's own filament, and whether it holds."""
    own = own_row(report)
    usable = report.usable_share or 1.0
    material, used = material_words(own.material), f"{percent(own.share)} of the grip"
    limits = f"under-extrusion starts above {figure(100 * usable)} %, grinding at 100 %"
    if report.flow is not None and report.flow.value <= 0:
        return (
            f"nothing is fed as it is (the capacity is 0 mm3/s): the drag of the filament path "
            f"alone uses {used} on {material}; {limits}"
        ), False
    flow = quantity(report.flow.value, "mm3/s") if report.flow else "that flow"
    found = verdict(own, usable)
    start = _START[found].format(material=material)
    return f"{start}: {flow} takes {used}; {limits}", found == HOLDS


def likely(row: GripRow) -> str:
    """Return how sure it is that the filament holds, and that it is not ground."""
    if row.marks == 0:
        return "100 % sure that it holds"
    ground = f"{share(1.0 - row.grinds)} sure that it is not ground"
    return f"{share(1.0 - row.marks)} sure that it holds, {ground}"


def remarks(report: GripReport, materials: Sequence[str] | None = None) -> Iterator[str]:
    """Yield what must be known to read the rows, and what to do about those that are lost.

    Only of `materials`, where they are given.
    """
    yield (
        "All at one flow: this machine's filament at its temperature, others at their usual one; "
        "the teeth as deep as now."
    )
    own = own_row(report)
    rows = [
        row
        for row in report.rows
        if row.gears == own.gears and (materials is None or row.material in materials)
    ]
    yield from _slow_to_melt(own, rows)
    yield from _slower(rows, report.usable_share or 1.0)
    if materials is None:
        yield (
            "The push is the same in gears of any size. What another size does to the torque: "
            "feedwright compare --vary drive.gear_diameter=8mm,15mm."
        )
    yield from report.remarks


def _slow_to_melt(own: GripRow, rows: Sequence[GripRow]) -> Iterator[str]:
    """Tell which filaments stand where they do by the melt zone rather than by their strength."""
    ours = own.share.value * own.grip.value
    times = [(row.material, row.share.value * row.grip.value / ours) for row in rows if ours > 0]
    more = [f"{material_words(name)} {_times(x)}" for name, x in times if x > _MORE_PUSH]
    if more:
        yield (
            f"These melt slower than {material_words(own.material)}, so they need more push at "
            f"this flow: {', '.join(more)}."
        )


def _times(ratio: float) -> str:
    return f"{figure(ratio, 2)} times" if ratio <= _FAR_MORE else "far more"


def _slower(rows: Sequence[GripRow], usable_share: float) -> Iterator[str]:
    lost = [
        (material_words(row.material), row.grip_flow.value)
        for row in rows
        if row.grip_flow is not None and verdict(row, usable_share) != HOLDS
    ]
    flows = [f"{material} {figure(flow, 2)}" for material, flow in lost if flow > 0]
    never = [material for material, flow in lost if flow <= 0]
    if flows:
        yield f"Feed these slower, under-extrusion starts at (mm3/s): {', '.join(flows)}."
    if never:
        words = ", ".join(never)
        yield f"Feeding slower does not save these, the drag alone is too much: {words}."


def render(report: GripReport, look: Look | None = None, *, full: bool = False) -> str:
    """Return the answer as text; every filament in every usual size of gears with `full`."""
    page = Page(look or Look(), written=True)
    write_unused(page, report.files)
    write_uses(page, report.weighed)
    for sentence in report.lacking:
        page.entry("lacking", sentence)
    if report.rows:
        _write_answer(page, report, full=full)
        if full:
            _write_materials(page, report)
            _write_gears(page, report, _materials(report.rows), _sizes(report))
            _write_ends(page, report)
        else:
            _write_short(page, report)
    return page.render()


def _write_short(page: Page, report: GripReport) -> None:
    """The filaments and gears that matter first, then how far to trust it."""
    shown, sizes = _few_materials(report), _near(_sizes(report), report)
    _write_gears(page, report, shown, sizes)
    for sentence in remarks(report, shown):
        page.indented(sentence, 1)
    page.blank()
    page.entry("trust", _TRUST)
    for sentence in report.cautions:
        page.entry("caution", sentence)
    page.entry("", f"{RANGE} --full: all filaments and gears.")


def _write_answer(page: Page, report: GripReport, *, full: bool) -> None:
    words, holds = answer(report)
    own = own_row(report)
    page.entry("answer", words, label_style="strong", style="strong" if holds else "warning")
    page.entry("how sure", likely(own))
    if full:
        page.entry("flow", report.flow_is)
    teeth = "" if own.teeth_engaged is None else f", {figure(own.teeth_engaged.value, 2)} teeth"
    push = ranged(report.push, "N") if report.push else "?"
    text = f"{push} through {_count(own)} of {quantity(own.gear_diameter, 'mm')}"
    if full:
        text += (
            f": the bite is {ranged(own.engaged_area, 'mm2')}{teeth} in each; "
            f"{ranged(own.pressure, 'MPa')} there, against a yield strength of "
            f"{quantity(own.yield_strength.value, 'MPa')}"
        )
    page.entry("push", text)
    write_weighed(page, report.weighed, full=full)


def _count(row: GripRow) -> str:
    gears = row.driven_gears.value
    return "1 driven gear" if gears == 1 else f"{figure(gears)} driven gears"


def _write_materials(page: Page, report: GripReport) -> None:
    rows = [row for row in report.rows if row.gears == _own_gears(report)]
    usable = report.usable_share or 1.0
    page.heading("Share of the grip in use in these gears, soft filament first")
    cells = page.look.width - _MATERIAL - _SHARE - _LIKELY - _VERDICT - 1
    if not page.look.bars or cells < _NARROWEST:
        for row in rows:
            page.indented(
                f"{material_words(row.material)}: {percent(row.share)}, {verdict(row, usable)}", 1
            )
        return
    plain = scale_for(flows=[100.0 * _TOP / 1.1], asked=None, cells=cells, drawn=page.look.drawn)
    scale = Scale(100.0 * _TOP, cells, 100.0 * usable, plain.drawn)
    fixed = " " * (_MATERIAL + _SHARE + _LIKELY + _VERDICT)
    page.row((fixed + axis(scale), ""))
    for row in rows:
        _write_material(page, row, scale, usable)
    sure, likely, line = "\u2550\u2500\u2502" if page.look.drawn else "=-|"
    legend = f"{sure} low end  {likely} range  o typical", f"{line} slips above  100 %: grinds"
    if page.look.width >= _WIDE:
        page.row((" " * _MATERIAL + "  ".join(legend), ""))
    else:
        for words in ["  ".join(legend)] if page.look.width >= _LEGEND else legend:
            page.row((words, ""))


def _write_material(page: Page, row: GripRow, scale: Scale, usable: float) -> None:
    part = row.share
    shown = Band(*(round(100 * x, 6) for x in (part.value, part.low, part.high)))
    likely = f"  ({_figure(shown.low)}-{_figure(shown.high)})"
    text = (
        material_words(row.material).ljust(_MATERIAL)
        + f"{_figure(shown.value)} %".rjust(_SHARE)
        + likely.ljust(_LIKELY)
        + verdict(row, usable).ljust(_VERDICT)
    )
    page.row((text, "neck" if row.present else ""), (strand(scale, shown), ""))


def _figure(percent: float) -> str:
    return figure(percent, 2) if percent < 1000 else "999+"


def _own_gears(report: GripReport) -> str:
    return own_row(report).gears


def _sizes(report: GripReport) -> list[_Size]:
    """Return the gears that there are rows of, small ones first."""
    return sorted({(r.gear_diameter, r.driven_gears.value, r.gears) for r in report.rows})


def _near(sizes: Sequence[_Size], report: GripReport) -> list[_Size]:
    """Return the machine's own gears and the next sizes, smaller and larger."""
    at = next(i for i, size in enumerate(sizes) if size[2] == _own_gears(report))
    return list(sizes[max(0, min(at - 1, len(sizes) - 3)) :][:3])


def _few_materials(report: GripReport) -> list[str]:
    """Return the machine's filament, the softest, and the most used of the others."""
    from advisor.catalog import load_catalog

    there, known = _materials(report.rows), list(load_catalog().materials)
    if len(there) < len(known):  # they were named on the command line
        return there
    first = list(dict.fromkeys((own_row(report).material, there[0])))
    return [*first, *[name for name in known if name not in first][:_COMMON]]


def _write_gears(
    page: Page, report: GripReport, materials: Sequence[str], sizes: Sequence[_Size]
) -> None:
    """Write a table of materials against sizes of gears, small ones first."""
    own = _own_gears(report)
    table = [
        ["", *(_size(diameter, driven) for diameter, driven, _ in sizes)],
        ["", *("this machine" if name == own else name for _, _, name in sizes)],
    ]
    for material in materials:
        cells = [_cell(_find(report.rows, material, size), report) for size in sizes]
        table.append([material_words(material), *cells])
    page.heading("Share of the grip in use, by filament and gears, at the same flow")
    widths = [max(map(len, column)) for column in zip(*table, strict=True)]
    blanks = min((page.look.width - sum(widths)) // len(sizes), 2)
    if blanks < 1:
        _write_in_words(page, table)
    else:
        for head, *cells in table:
            right = "".join(x.rjust(n + blanks) for x, n in zip(cells, widths[1:], strict=True))
            page.row((head.ljust(widths[0]) + right, ""))
    page.indented("close: close to slipping. grinds: the teeth cut the filament.", 1)


def _write_in_words(page: Page, table: Sequence[Sequence[str]]) -> None:
    (_, *heads), _, *rows = table
    for material, *cells in rows:
        parts = [f"{head} {cell}" for head, cell in zip(heads, cells, strict=True)]
        page.indented(f"{material}: {'; '.join(parts)}", 1)


def _size(diameter: float, driven: float) -> str:
    return f"{figure(driven)} x {figure(diameter, 3)} mm"


def _materials(rows: Iterable[GripRow]) -> list[str]:
    return list(dict.fromkeys(row.material for row in rows))


def _find(rows: Sequence[GripRow], material: str, size: tuple[float, float, str]) -> GripRow | None:
    found = (r for r in rows if r.material == material and r.gears == size[2])
    return next(found, None)


def _cell(row: GripRow | None, report: GripReport) -> str:
    if row is None:
        return "?"
    return f"{_figure(100 * row.share.value)} % {verdict(row, report.usable_share or 1.0)}"


def _write_ends(page: Page, report: GripReport) -> None:
    for sentence in remarks(report):
        page.indented(sentence, 1)
    page.indented(RANGE, 1)
    page.heading("How far to trust it")
    page.indented(
        "The grip is a shear estimate: no published force of today's small twin gears is known. "
        "Its level is set on what drives are known to deliver (small twin gears: about 20 mm3/s of "
        "hard filament), so read the range rather than the typical figure. A pull with a spring "
        "scale (drive.measured_force in the sheet) or a weighed test settles it.",
        1,
    )
    if report.assumed:
        page.indented(f"Assumed: {', '.join(report.assumed)}.", 1)
    page.heading("Caution")
    for sentence in report.cautions:
        page.indented(sentence, 1)
