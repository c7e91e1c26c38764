"""Machine-readable JSON of every answer, as `schema.json` beside it describes.

The order of keys and entries is fixed, numbers are finite, and nothing depends on the clock
or on the order of a set: the same input gives the same bytes. Unknown values are null.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable, Mapping
from typing import Any

from advisor import __version__
from advisor.model import (
    Band,
    Case,
    ExtruderReport,
    Figure,
    FileStatus,
    Finding,
    Fix,
    LaterSetting,
    Level,
    LimitBand,
    NextStep,
    Report,
    Span,
    Weighed,
)
from advisor.records import DerateReport, Derivation, Explanation, FeatureAsk, FlowReport
from advisor.report.clean import unicode_text
from advisor.report.order import by_place
from advisor.report.rough import draws_tree
from advisor.report.words import LIMITS
from advisor.units import parse_unit

__all__ = [
    "SCHEMA_VERSION",
    "Tree",
    "case_tree",
    "dump",
    "estimate",
    "files",
    "finding_tree",
    "limits_tree",
    "number",
    "render",
    "render_derate",
    "render_derates",
    "render_errors",
    "render_explain",
    "render_flow",
    "weighed_tree",
]

SCHEMA_VERSION = 1
_DIGITS = 9  # significant; enough for any setting, short of the last bits of the arithmetic
Tree = dict[str, Any]


def render(report: Report) -> str:
    """Return the answer of `lint` as one JSON object."""
    return dump({
        "files": files(report.files),
        "extruders": [_extruder(extruder) for extruder in report.extruders],
        "findings": [finding_tree(finding) for finding in by_place(report.findings)],
        "summary": {level.value: report.count(level) for level in Level},
        "errors": [unicode_text(error) for error in report.errors],
        **({"later_settings": [_later(one) for one in report.later]} if report.later else {}),
        **({"dated_copies": [unicode_text(one) for one in report.copies]} if report.copies else {}),
        **({"unread_macro_moves": report.unread_moves} if report.unread_moves else {}),
        **draws_tree(report.draws),
    })  # fmt: skip


def _later(one: LaterSetting) -> Tree:
    return {
        "fact": one.fact,
        "unit": one.unit,
        "values": [number(value) for value in one.values],
        "macros": [unicode_text(macro) for macro in one.macros],
        "extruder": one.extruder,
        "kept": one.kept,
        "at": _at(one.at),
    }


def render_errors(errors: Iterable[str]) -> str:
    """Return a valid object that says only what went wrong."""
    return dump({"errors": [unicode_text(error) for error in errors]})


def render_derate(report: DerateReport) -> str:
    """Return the answer of `derate` as one JSON object."""
    return dump(_derate_tree(report))


def render_derates(reports: Iterable[DerateReport]) -> str:
    """Return several answers of `derate` as one JSON object."""
    return dump({"ratings": [_derate_tree(report) for report in reports], "errors": []})


def _derate_tree(report: DerateReport) -> Tree:
    ampere, degree = "A", "degC"
    estimates = {
        "rated_current_rms": (report.rated_current_rms, ampere),
        "derated_current": (report.derated_current, ampere),
        "applied_current": (report.applied_current, ampere),
        "winding_temperature": (report.winding_temperature, degree),
        "case_temperature": (report.case_temperature, degree),
        "cautious_reading": (report.cautious, ampere),
        "thermal_reading": (report.thermal, ampere),
        "full_scale_current": (report.full_scale_current, ampere),
        "ambient": (report.ambient, degree),
        "case_after_10_minutes": (report.case_soon, degree),
        "case_after_an_hour": (report.case_later, degree),
        "time_constant": (report.time_constant, "s"),
        "gear_temperature": (report.gear_temperature, degree),
        "filament_limit": (report.filament_limit, degree),
        "filament_current": (report.filament_current, ampere),
    }
    return {
        "rating": {"value": number(report.rating), "basis": report.basis, "unit": ampere},
        "share": number(report.share),
        **{name: estimate(value, unit) for name, (value, unit) in estimates.items()},
        "set_current": number(report.set_current),
        "no_setting": report.no_setting,
        "peak_amplitude": number(report.peak_amplitude),
        "governed_by": report.governed_by,
        "limits": {name: estimate(report.limits[name], ampere) for name in sorted(report.limits)},
        "mount": report.mount,
        "driver": report.driver,
        "sense_resistor": number(report.sense_resistor),
        "assumptions": list(report.assumptions),
        "motor": report.motor,
        "material": report.material,
        "torque_share": number(report.torque_share),
        "push_share": number(report.push_share),
        "stop_reading": number(report.stop_reading),
        "cautions": list(report.cautions),
        "errors": [],
    }


def render_explain(explanation: Explanation) -> str:
    """Return the answer of `explain` as one JSON object."""
    return dump({
        "kind": explanation.kind,
        "name": explanation.name,
        "title": explanation.title,
        "lines": [
            {"label": label, "text": unicode_text(text)} for label, text in explanation.lines
        ],
        "numbers": [_catalogue(number) for number in explanation.numbers],
        "extruder": explanation.extruder,
        "at": _at(explanation.at),
        "derivation": [_step(step) for step in explanation.derivation],
        "findings": [finding_tree(finding) for finding in explanation.findings],
        "errors": [],
    })  # fmt: skip


def case_tree(case: Case) -> dict[str, object]:
    """Return what a machine delivers in one case, the flow to set, whether what is asked fits."""
    band = estimate(case.capacity, "mm3/s") or {}
    return {
        "field": case.field,
        "class": case.name,
        **band,
        "set_to": number(case.set_to),
        "exceeds": case.exceeds,
        "sure": number(case.sure),
    }


def _next(step: NextStep | None) -> Tree | None:
    if step is None:
        return None
    words = [unicode_text(word) for word in step.arguments]
    return {"words": step.words, "arguments": words}


def render_flow(report: FlowReport) -> str:
    """Return the answer of `flow` as one JSON object."""
    return dump({
        "extruder": report.extruder and unicode_text(report.extruder),
        "asked": estimate(report.asked, "mm3/s"),
        "asked_by": report.asked_by,
        "asked_at": _at(report.asked_at),
        "capacity": estimate(report.capacity, "mm3/s"),
        "exceeds": report.exceeds,
        "sure": number(report.sure),
        "bottleneck": report.bottleneck,
        "set_to": number(report.set_to),
        "no_set_to": report.no_set_to,
        "cases": [case_tree(case) for case in report.cases],
        "next": _next(report.next),
        "setting": report.setting and unicode_text(report.setting),
        "features": [_feature(feature) for feature in report.features],
        "lacking": list(report.lacking),
        "assumed": list(report.assumed),
        "findings": [finding_tree(finding) for finding in by_place(report.findings)],
        "weighed": weighed_tree(report.weighed),
        "files": files(report.files),
        "errors": [unicode_text(error) for error in report.errors],
        **draws_tree(report.draws),
    })  # fmt: skip


def _feature(feature: FeatureAsk) -> Tree:
    return {
        "feature": feature.name,
        "title": feature.title,
        "speed": number(feature.speed),
        "width": number(feature.width),
        "height": number(feature.height),
        "flow": number(feature.flow),
        "sure": number(feature.sure),
        "speed_that_fits": number(feature.speed_that_fits),
        "at": _at(feature.at),
    }


def files(statuses: Iterable[FileStatus]) -> list[Tree]:
    """Return the files that were asked for and how each fared."""
    return [
        {"path": unicode_text(file.path), "status": file.status, "role": file.role}
        for file in statuses
    ]


def finding_tree(finding: Finding) -> Tree:
    """Return a finding as JSON types."""
    at = finding.at
    return {
        "rule": finding.rule,
        "level": finding.level.value,
        "stage": finding.stage,
        "extruder": finding.extruder,
        "title": finding.title,
        "message": unicode_text(finding.message),
        "sure": number(finding.sure),
        "file": unicode_text(at.file) if at else None,
        "line": at.line if at else None,
        "column": at.column if at else None,
        "end_column": at.end_column if at else None,
        "fix": _fix(finding.fix) if finding.fix else None,
        "advice": finding.advice,
        "caution": finding.caution,
        "why": finding.why,
        "source": finding.source,
        "facts": list(finding.facts),
    }


def _fix(fix: Fix) -> Tree:
    return {
        "file": unicode_text(fix.at.file) if fix.at else None,
        "line": fix.at.line if fix.at else None,
        "section": fix.section and unicode_text(fix.section),
        "setting": unicode_text(fix.setting),
        "from": fix.old and unicode_text(fix.old),
        "to": fix.new,
    }


def _extruder(extruder: ExtruderReport) -> Tree:
    return {
        "name": unicode_text(extruder.name),
        "config": extruder.config and unicode_text(extruder.config),
        "facts": {name: _fact(extruder.facts[name]) for name in sorted(extruder.facts)},
        "limits": limits_tree(extruder.limits),
        "bottleneck": extruder.bottleneck,
        "level_with": list(extruder.level_with),
        "cases": [case_tree(case) for case in extruder.cases],
        "next": _next(extruder.next),
        "levers": [
            {
                "lever": g.words,
                "fact": g.fact,
                "now": number(g.now),
                "to": number(g.to),
                "unit": _unit(g.unit),
                "assumed": g.assumed,
                "gain": number(g.gain),
                "capacity": number(g.capacity),
                "factor": number(g.factor),
            }
            for g in extruder.gains
        ],
        "measure_next": [
            {
                "group": group.group,
                "share_of_spread": number(group.share),
                "title": group.title,
                "inputs": [
                    {
                        "fact": entry.fact,
                        "share_of_spread": number(entry.share),
                        "title": entry.title,
                        "sheet_field": entry.sheet_field,
                    }
                    for entry in group.inputs
                ],
                "how": group.how,
            }
            for group in extruder.measure_next
        ],
        "weighed": weighed_tree(extruder.weighed),
    }


def weighed_tree(weighed: Weighed | None) -> Tree | None:
    """Return what weighed tests made of the capacity, as JSON types."""
    if weighed is None:
        return None
    return {
        "files": [unicode_text(file) for file in weighed.files],
        "before": estimate(weighed.before, "mm3/s"),
        "after": estimate(weighed.after, "mm3/s"),
        "narrower": number(weighed.narrower),
        "fits": number(weighed.fits),
        "contradiction": weighed.contradiction,
        "causes": list(weighed.causes),
    }


def _fact(fact: Figure) -> Tree:
    return {
        "value": fact.word if fact.text is None else unicode_text(fact.text),
        "low": None,
        "high": None,
        **(_ends(fact.band) if fact.band else {}),
        "unit": _unit(fact.unit),
        "origin": fact.origin.kind.value if fact.known else None,
        "state": fact.state.value,
        "at": _at(fact.origin.at),
        "source": fact.origin.source,
    }


def limits_tree(limits: Iterable[LimitBand]) -> list[Tree]:
    """Return all seven limits in their order, as JSON types."""
    known = {limit.limit: limit for limit in limits}
    return [_limit(known.get(name) or LimitBand(name, None, None, None)) for name in LIMITS]


def _limit(limit: LimitBand) -> Tree:
    return {
        "limit": limit.limit,
        "flow": number(limit.flow),
        "low": number(limit.low),
        "high": number(limit.high),
        "unit": "mm3/s",
        "share_lowest": number(limit.bottleneck_share),
        "beyond": limit.beyond,
        "why_unknown": limit.why_unknown,
    }


def _step(step: Derivation) -> Tree:
    fact = step.fact
    return {
        "fact": fact.name,
        "title": step.title,
        "depth": step.depth,
        "repeated": step.repeated,
        "formula": step.formula,
        "inputs": list(fact.inputs),
        **_fact(fact),
    }


def _catalogue(entry: Mapping[str, Any]) -> Tree:
    """Return a catalogue number; every key is there, null where it is not stated."""
    return {
        name: number(value) if isinstance(value := entry.get(name), int | float) else value
        for name in ("fact", "low", "typical", "high", "unit", "source", "status")
    }


def _at(at: Span | None) -> Tree | None:
    return {"file": unicode_text(at.file), "line": at.line} if at else None


def estimate(band: Band | None, unit: str | None) -> Tree | None:
    """Return an estimate with its ends and unit (null: a plain number); null without one."""
    return {**_ends(band), "unit": unit} if band else None


def _ends(band: Band) -> Tree:
    return {"value": number(band.value), "low": number(band.low), "high": number(band.high)}


def _unit(symbol: str) -> str | None:
    """Return the unit without its kind (``A`` for RMS amperes); null for text and plain numbers."""
    unit = parse_unit(symbol)
    if unit.kind in {"rms", "peak"}:
        return symbol.partition(" ")[0]
    return unit.symbol or None


def number(value: float | None) -> float | None:
    """Return a finite number of nine digits; null for what is none."""
    if value is None or not math.isfinite(value):
        return None
    return float(f"{value:.{_DIGITS}g}")


def dump(content: Tree) -> str:
    """Return an answer as text, with the version of schema and tool before it."""
    tool = {"name": "feedwright", "version": __version__}
    whole = {"schema_version": SCHEMA_VERSION, "tool": tool, **content}
    return json.dumps(whole, indent=2, allow_nan=False) + "\n"
