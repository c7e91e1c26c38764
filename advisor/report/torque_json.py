"""The answer of `torque` as JSON."""

from __future__ import annotations

from advisor.curve_records import BandLine, MotorNeed, MotorRow, OperatingPoint, TorqueReport
from advisor.report import json
from advisor.report.clean import unicode_text

__all__ = ["render"]

_POINT = {
    "motor_speed": "1/s",
    "filament_speed": "mm/s",
    "needed": "mN m",
    "usable": "mN m",
    "skip": "mN m",
    "left": "-",
    "speed_share": "-",
}


def render(report: TorqueReport) -> str:
    """Return the answer as one JSON object."""
    return json.dump({
        "extruder": report.extruder and unicode_text(report.extruder),
        "enough": report.enough,
        "torque": {
            "unit": "mN m",
            "motor_speeds": {"values": [json.number(x) for x in report.speeds], "unit": "1/s"},
            "usable": _line(report.usable, len(report.speeds)),
            "skip": _line(report.skip, len(report.speeds)),
            "needed": _line(report.needed, report.needed_count),
        },
        "corner_speed": json.estimate(report.corner_speed, "1/s"),
        "trusted_share": json.number(report.trusted_share),
        "limit_share": json.number(report.limit_share),
        "points": [_point(point) for point in report.points],
        "needs": [_need(need) for need in report.needs],
        "motors": [_motor(row) for row in report.motors],
        "remarks": list(report.remarks),
        "assumed": list(report.assumed),
        "weighed": json.weighed_tree(report.weighed),
        "lacking": list(report.lacking),
        "files": json.files(report.files),
        "errors": [unicode_text(error) for error in report.errors],
    })  # fmt: skip


def _line(line: BandLine | None, count: int) -> json.Tree | None:
    if line is None:
        return None
    ends = {"value": line.value, "low": line.low, "high": line.high}
    return {name: [json.number(x) for x in values[:count]] for name, values in ends.items()}


def _point(point: OperatingPoint) -> json.Tree:
    return {
        "name": point.name,
        "title": point.title,
        "asked": point.asked,
        **{key: json.estimate(getattr(point, key), _unit(unit)) for key, unit in _POINT.items()},
        "too_much": json.number(point.too_much),
        "skips": json.number(point.skips),
    }


def _unit(unit: str) -> str | None:
    return None if unit == "-" else unit


def _need(need: MotorNeed) -> json.Tree:
    return {
        "voltage": json.number(need.voltage),
        "rated_current": json.number(need.rated_current),
        "working_current": json.number(need.working_current),
        "resistance": json.number(need.resistance),
        "holding_torque": json.estimate(need.holding_torque, "mN m"),
        "inductance": json.estimate(need.inductance, "mH"),
        "governed_by": need.governed_by,
        "fastest": need.fastest,
        "why_none": need.why_none,
    }


def _motor(row: MotorRow) -> json.Tree:
    return {
        "motor": row.motor,
        "title": row.title,
        "present": row.present,
        "voltage": json.number(row.voltage),
        "working_current": json.estimate(row.working_current, "A"),
        "margin": json.estimate(row.margin, None),
        "governed_by": row.governed_by,
        "speed_share": json.estimate(row.speed_share, None),
        "left": json.estimate(row.left, None),
        "mass": json.estimate(row.mass, "g"),
        "serves": row.serves,
        "sure": json.number(row.sure),
        "why_none": row.why_none,
    }
