"""Torque against speed, and force against flow, on the page.

What the motor has and must do, and which motor would do; where the hotend asks more than a part
can give.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.answers import BandLine, ForceReport, MotorRow, OperatingPoint, TorqueReport
from advisor.base import Band
from advisor.report.html.layout import (
    Child,
    Markup,
    Part,
    Place,
    element,
    list_of,
    section,
    table,
    terms,
)
from advisor.report.html.pictures import SHADED, drawn, figure_with_table, how_to_get
from advisor.report.numbers import figure, flow, quantity, ranged, share
from advisor.report.torque_text import answer, at_speed, need_words, verdict

__all__ = ["force_section", "spaced", "torque_section"]

_POINT_HEADS = ("point", "turns/s", "mm/s", "needs, mN m", "usable, mN m", "skips at, mN m",
                "torque left", "counted")  # fmt: skip

_FEED_ROWS = 5
_ROWS = 11
_LEAD = (
    "Pushing filament faster through the hotend needs more force. Where the needed force crosses "
    "what the motor can push, the gears can grip or the unsupported gap can take lies that part's "
    "flow limit."
)


def torque_section(place: Place, report: TorqueReport) -> Part:
    """Return the section on torque against speed."""
    title = "Torque against speed"
    if not report.points:
        sentences = [element("p", words) for words in report.lacking]
        return section(place, "torque", title, sentences or element("p", "Not known."))
    words, _ = answer(report)
    pairs: list[tuple[str, Child]] = [("answer", words), ("at speed", at_speed(report))]
    return section(
        place, "torque", title,
        terms(pairs),
        figure_with_table(
            drawn("draw_torque", report, place),
            f"Torque in mN m over the motor's speed. {SHADED}",
            _curves(report, place),
            label=place.label,
        ),
        _points(report.points, place),
        _needs(report, place),
        _motors(report.motors, place),
        list_of(report.remarks),
        terms([("caution", " ".join(report.cautions))]),
    )  # fmt: skip


def _curves(report: TorqueReport, place: Place) -> Markup:
    rows = [
        [
            figure(report.speeds[i], 2), figure(report.filament_speeds[i], 2),
            _at(report.usable, i), _at(report.skip, i),
            _at(report.needed, i) if i < report.needed_count else "",
        ]
        for i in _shown(len(report.speeds), report.needed_count)
    ]  # fmt: skip
    heads = ("turns/s", "filament, mm/s", "usable, mN m", "skips at, mN m", "steady feed, mN m")
    return table("Torque over speed", heads, rows, label=place.label, fits=True)


def _shown(count: int, needed: int) -> list[int]:
    """Return the places to show: some where the feed is, fewer above."""
    return sorted({*spaced(min(needed, count), _FEED_ROWS), *spaced(count)})


def _at(line: BandLine | None, i: int) -> str:
    if line is None or i >= len(line.value):
        return ""
    return ranged(Band(line.value[i], line.low[i], line.high[i]), "")


def _points(points: Sequence[OperatingPoint], place: Place) -> Markup:
    rows = [
        [
            point.title, figure(point.motor_speed.value, 2), figure(point.filament_speed.value),
            ranged(point.needed, ""), ranged(point.usable, ""), ranged(point.skip, ""),
            share(min(point.left.value, 1.0)), "yes" if point.asked else "no",
        ]
        for point in points
    ]  # fmt: skip
    return table("What the motor must do", _POINT_HEADS, rows, label=place.label)


def _needs(report: TorqueReport, place: Place) -> Markup | None:
    if not report.needs:
        return None
    first = report.needs[0]
    caption = (
        f"What a motor must have for that, rated {quantity(first.rated_current, 'A')} per phase "
        f"and run at {quantity(first.working_current, 'A rms')}"
    )
    rows = [(quantity(need.voltage, "V"), need_words(need)) for need in report.needs]
    return table(caption, ("supply", "motor"), rows, label=place.label, fits=True)


def _motors(rows: Sequence[MotorRow], place: Place) -> Markup | None:
    by_motor: dict[str, list[MotorRow]] = {}
    for row in rows:
        by_motor.setdefault(row.motor, []).append(row)
    if not by_motor:
        return None
    volts = [quantity(row.voltage, "V") for row in next(iter(by_motor.values()))]
    heads = ("motor class", "mass, g", "A RMS", "usable over needed", *(f"at {v}" for v in volts))
    cells = [
        [entries[-1].title or motor, *_figures(entries[-1]), *map(verdict, entries)]
        for motor, entries in by_motor.items()
    ]
    caption = "Which motor would do, each at the current it is rated for"
    return table(caption, heads, cells, label=place.label)


def _figures(row: MotorRow) -> tuple[str, ...]:
    return tuple(
        "?" if x is None else ranged(x, "") for x in (row.mass, row.working_current, row.margin)
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
            _force_curves(report, place), _levels(report, place),
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


def _force_curves(report: ForceReport, place: Place) -> Markup:
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
