"""What the gears do to the filament, in words: for the terminal and for the page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.curve_records import LEVEL, GripReport, GripRow
from advisor.model import Band
from advisor.report.numbers import band, figure, quantity, share

__all__ = [
    "GRINDS",
    "HOLDS",
    "MARKS",
    "answer",
    "likely",
    "own_row",
    "percent",
    "remarks",
    "verdict",
]

HOLDS, MARKS, GRINDS = "holds", "marks", "grinds"
_MORE_PUSH = 1.5  # times the push of the machine's own filament, from which it is told
_FAR_MORE = 3.0  # times: more is no figure anybody could use


def own_row(report: GripReport) -> GripRow:
    """Return the row of the machine as it is."""
    return next(row for row in report.rows if row.present)


def verdict(row: GripRow, usable_share: float) -> str:
    """Return what becomes of the filament: it holds, is marked, or is ground."""
    if row.share.value >= 1.0:
        return GRINDS
    return MARKS if row.share.value > usable_share * LEVEL else HOLDS


def percent(part: Band) -> str:
    """Return a share with its band in percent."""
    return band(Band(100 * part.value, 100 * part.low, 100 * part.high), "%")


def answer(report: GripReport) -> tuple[str, bool]:
    """Return in words what the gears do to the machine's own filament, and whether it holds."""
    own = own_row(report)
    usable = report.usable_share or 1.0
    used = f"{percent(own.share)} of the grip"
    falls = (
        f"above {figure(100 * usable)} % delivery begins to fall, at 100 % the filament is ground"
    )
    if report.flow is not None and report.flow.value <= 0:
        return (
            f"nothing is fed as it is (the capacity is 0 mm3/s): the drag of the guide alone uses "
            f"{used} on {own.material}; {falls}"
        ), False
    flow = quantity(report.flow.value, "mm3/s") if report.flow else "that flow"
    return f"at {flow} the gears use {used} {own.material} gives them; {falls}", verdict(
        own, usable
    ) == HOLDS


def likely(row: GripRow) -> str:
    """Return in how many of the likely machines the filament is marked and ground."""
    if row.marks == 0:
        return "in none of the likely machines does delivery fall"
    ground = (
        f"the filament is ground in {share(row.grinds)}" if row.grinds else "in none is it ground"
    )
    return f"delivery falls in {share(row.marks)} of likely machines; {ground}"


def remarks(report: GripReport) -> Iterator[str]:
    """Yield what must be known to read the rows, and what to do about those that are lost."""
    yield (
        "At one flow, the machine's own filament as it is run, others at their usual temperature; "
        "the teeth as deep as now."
    )
    own = own_row(report)
    rows = [row for row in report.rows if row.gears == own.gears]
    yield from _slow_to_melt(own, rows)
    yield (
        "The push is the same in gears of any size. What another size does to the torque: "
        "feedwright compare --vary drive.gear_diameter=8mm,15mm."
    )
    yield from _slower(rows, report.usable_share or 1.0)
    yield from report.remarks


def _slow_to_melt(own: GripRow, rows: Sequence[GripRow]) -> Iterator[str]:
    """Tell which filaments stand where they do by the melt zone rather than by their strength."""
    ours = own.share.value * own.grip.value
    times = [(row.material, row.share.value * row.grip.value / ours) for row in rows if ours > 0]
    more = [f"{material} {_times(x)}" for material, x in times if x > _MORE_PUSH]
    if more:
        yield (
            f"The zone melts these slower than {own.material}, so that they need more push at this "
            f"flow: {', '.join(more)}."
        )


def _times(ratio: float) -> str:
    return f"{figure(ratio, 2)} times" if ratio <= _FAR_MORE else "far more"


def _slower(rows: Sequence[GripRow], usable_share: float) -> Iterator[str]:
    lost = [
        (row.material, row.grip_flow.value)
        for row in rows
        if row.grip_flow is not None and verdict(row, usable_share) != HOLDS
    ]
    flows = [f"{material} {figure(flow, 2)}" for material, flow in lost if flow > 0]
    never = [material for material, flow in lost if flow <= 0]
    if flows:
        yield f"Feed these slower; delivery falls from (mm3/s): {', '.join(flows)}."
    if never:
        words = ", ".join(never)
        yield f"Feeding slower does not save these, the drag of the guide is too much: {words}."
