"""What the gears do to the filament, in words: for the terminal and for the page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.answers import LEVEL, GripReport, GripRow
from advisor.base import Band
from advisor.report.numbers import figure, quantity, ranged, share
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
    "verdict",
]

HOLDS, CLOSE, GRINDS = "holds", "close", "grinds"
_MORE_PUSH = 1.5  # times the push of the machine's own filament, from which it is told
_FAR_MORE = 3.0  # times: more is no figure anybody could use


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


_START = {
    HOLDS: "the gears hold {material}",
    CLOSE: "{material} is close to slipping",
    GRINDS: "the gears grind {material}",
}


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
