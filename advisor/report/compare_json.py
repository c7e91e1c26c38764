"""The answer of `compare` as JSON and as CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator

from advisor.compare_records import CompareReport, LeverAnswer, TargetReport, Variant
from advisor.model import Band
from advisor.report import json
from advisor.report.clean import cell_text, unicode_text
from advisor.report.rough import draws_tree

__all__ = ["render", "render_csv"]

_ESTIMATES = {  # attribute and key: unit
    "capacity": "mm3/s",
    "skip": "mm3/s",
    "case_temperature": "degC",
    "run_current": "A",
    "derated_current": "A",
    "motor_mass": "g",
    "microstep": "mm",
    "lag": "mm",
    "retract_trusted": "mm/s",
    "retract_torque": "mm/s",
}


def render(report: CompareReport) -> str:
    """Return the answer as one JSON object."""
    return json.dump({
        "extruder": report.extruder and unicode_text(report.extruder),
        "variants": [_variant(row) for row in report.variants],
        "left_out": report.left_out,
        "asked": json.estimate(report.asked, "mm3/s"),
        "weighed": json.weighed_tree(report.weighed),
        "target": _target(report.target) if report.target is not None else None,
        "lacking": list(report.lacking),
        "files": json.files(report.files),
        "errors": [unicode_text(error) for error in report.errors],
        **draws_tree(report.draws),
    })  # fmt: skip


def _variant(row: Variant) -> json.Tree:
    return {
        "number": row.number,
        "name": unicode_text(row.name),
        "bottleneck": row.bottleneck,
        "bottleneck_share": json.number(row.bottleneck_share),
        **{key: json.estimate(getattr(row, key), unit) for key, unit in _ESTIMATES.items()},
        "limits": json.limits_tree(row.limits),
        "above_derated": row.above_derated,
        "better_share": json.number(row.better_share),
        "worse_share": json.number(row.worse_share),
        "delivers_asked": json.number(row.delivers_asked),
        "narrower": json.number(row.narrower),
        "notes": [unicode_text(note) for note in row.notes],
    }


def _target(target: TargetReport) -> json.Tree:
    return {
        "flow": {"value": json.number(target.target), "unit": "mm3/s"},
        "capacity": json.estimate(target.capacity, "mm3/s"),
        "reached": target.reached,
        "current_lowered_to": json.number(target.lowered_to),
        "changes": [_lever(lever) for lever in target.levers],
    }


def _lever(lever: LeverAnswer) -> json.Tree:
    return {
        "fact": lever.fact,
        "title": lever.title,
        "unit": lever.unit.partition(" rms")[0],
        "now": json.number(lever.now),
        "assumed": lever.assumed,
        "to": json.number(lever.to),
        "best": json.number(lever.best),
        "capacity": json.estimate(lever.capacity, "mm3/s"),
        "bottleneck": lever.bottleneck,
        "sure": json.number(lever.sure),
        "one_step_less": json.number(lever.one_step_less),
        "limit": json.number(lever.limit),
        "limited_by": lever.limited_by,
        "relative_change": json.number(lever.change),
        "note": lever.note,
    }


def render_csv(report: CompareReport) -> str:
    """Return the table as CSV, the unit in each column's name, ends of bands in columns."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    ends = [f"{key}{end}_{unit.replace('/', '_')}" for key, unit in _ESTIMATES.items()
            for end in ("", "_low", "_high")]  # fmt: skip
    writer.writerow(["number", "name", "bottleneck", *ends, "above_derated", "better_share",
                     "worse_share", "delivers_asked", "narrower"])  # fmt: skip
    for row in report.variants:
        cells = [cell for key in _ESTIMATES for cell in _ends(getattr(row, key))]
        above = "" if row.above_derated is None else "yes" if row.above_derated else "no"
        shares = (row.better_share, row.worse_share, row.delivers_asked, row.narrower)
        head = [row.number, cell_text(row.name), row.bottleneck or ""]
        writer.writerow([*head, *cells, above, *map(_cell, shares)])
    return stream.getvalue()


def _ends(band: Band | None) -> Iterator[str]:
    for value in (band.value, band.low, band.high) if band is not None else (None,) * 3:
        yield _cell(value)


def _cell(value: float | None) -> str:
    number = json.number(value)
    return "" if number is None else f"{number:.9g}"
