"""The answer of `grip` as JSON."""

from __future__ import annotations

from advisor.curve_records import GripReport, GripRow
from advisor.report import json
from advisor.report.clean import unicode_text

__all__ = ["render"]

_ESTIMATES = {
    "driven_gears": None,
    "engaged_area": "mm2",
    "teeth_engaged": None,
    "grip": "N",
    "usable": "N",
    "pressure": "MPa",
    "yield_strength": "MPa",
    "share": None,
    "grip_flow": "mm3/s",
}


def render(report: GripReport) -> str:
    """Return the answer as one JSON object."""
    return json.dump({
        "extruder": report.extruder and unicode_text(report.extruder),
        "flow": json.estimate(report.flow, "mm3/s"),
        "flow_is": report.flow_is,
        "push": json.estimate(report.push, "N"),
        "usable_share": json.number(report.usable_share),
        "grips": [_row(row) for row in report.rows],
        "remarks": list(report.remarks),
        "assumed": list(report.assumed),
        "weighed": json.weighed_tree(report.weighed),
        "lacking": list(report.lacking),
        "files": json.files(report.files),
        "errors": [unicode_text(error) for error in report.errors],
    })  # fmt: skip


def _row(row: GripRow) -> json.Tree:
    return {
        "material": row.material,
        "gears": row.gears,
        "gear_diameter": {"value": json.number(row.gear_diameter), "unit": "mm"},
        "present": row.present,
        **{key: json.estimate(getattr(row, key), unit) for key, unit in _ESTIMATES.items()},
        "marks": json.number(row.marks),
        "grinds": json.number(row.grinds),
    }
