"""The answers of `weigh plan` and `weigh read` as JSON."""

from __future__ import annotations

from advisor.model import Band
from advisor.report import json
from advisor.report.clean import unicode_text
from advisor.units import parse_unit
from advisor.weigh.records import (
    ByHand,
    Calibration,
    Contrast,
    Evaluation,
    Plan,
    PlanReport,
    PlanStep,
    Step,
    WeighReport,
    trade,
)

__all__ = ["render_plan", "render_read"]


def render_plan(report: PlanReport) -> str:
    """Return a plan, or why there is none, as one JSON object."""
    return json.dump({
        "extruder": report.extruder and unicode_text(report.extruder),
        "plan": _plan(report.plan) if report.plan is not None else None,
        "conditions": {key: unicode_text(text) for key, text in report.conditions.items()},
        "refused": [unicode_text(text) for text in report.refused],
        "cautions": list(report.cautions),
        "remarks": [unicode_text(text) for text in report.remarks],
        "files": json.files(report.files),
        "errors": [unicode_text(error) for error in report.errors],
    })  # fmt: skip


def render_read(report: WeighReport) -> str:
    """Return what tests show as one JSON object; its first keys are those of the first test."""
    first = _test(report.tests[0]) if report.tests else dict.fromkeys(_TEST)
    return json.dump({
        **{key: first[key] for key in _TEST},
        "tests": [_test(test) for test in report.tests],
        "contrasts": [_contrast(contrast) for contrast in report.contrasts],
        "calibration": _calibration(report.calibrations[0]) if report.calibrations else None,
        "calibrations": [_calibration(made) for made in report.calibrations],
        "files": json.files(report.files),
        "errors": [unicode_text(error) for error in report.errors],
    })  # fmt: skip


_TEST = (
    "knee", "last_without_skips", "first_skip", "reference_ratio", "steps", "loss", "rise",
    "rotation_distance",
)  # fmt: skip


def _in(unit: str, value: float | None) -> float | None:
    return None if value is None else json.number(float(parse_unit(unit).from_si(value)))


def _plain(value: Band) -> json.Tree:
    """Return an estimate of a plain number: it has no unit."""
    return {**(json.estimate(value, "") or {}), "unit": None}


def _plan(plan: Plan) -> json.Tree:
    return {
        "steps": [_plan_step(step) for step in plan.steps],
        "temperature": _in("degC", plan.temperature),
        "filament": _in("mm", plan.length),
        "time": json.number(plan.time),
        "mass": _in("g", plan.mass),
        "scale": _in("g", plan.scale),
        "mass_uncertainty": json.number(plan.mass_uncertainty),
        "expected_knee": json.estimate(trade(plan.knee, "mm3/s"), "mm3/s"),
        "lift": _in("mm", plan.lift),
    }


def _plan_step(step: PlanStep) -> json.Tree:
    return {
        "flow": _in("mm3/s", step.flow),
        "speed": _in("mm/s", step.speed),
        "length": _in("mm", step.length),
        "moves": step.moves,
        "time": json.number(step.time),
        "reference": step.reference,
    }


def _test(test: Evaluation) -> json.Tree:
    return {
        "name": unicode_text(test.name),
        "file": unicode_text(test.file),
        "conditions": {key: unicode_text(text) for key, text in test.conditions.items()},
        "knee": json.estimate(trade(test.knee, "mm3/s"), "mm3/s"),
        "droop": None if test.droop is None else _plain(test.droop),
        "clean_flow": _in("mm3/s", test.clean),
        "last_without_skips": _in("mm3/s", test.last_without_skips),
        "first_skip": _in("mm3/s", test.first_skip),
        "reference_ratio": _plain(test.reference_ratio),
        "reference_expanded_uncertainty": json.number(test.reference_expanded),
        "level": json.number(test.level),
        "steps": [_step(step) for step in test.steps],
        "loss": test.loss,
        "loss_odds": {kind: json.number(odds) for kind, odds in test.loss_odds.items()},
        "rise": json.number(test.rise),
        "rotation_distance": json.estimate(trade(test.rotation_distance, "mm"), "mm"),
        "rotation_distance_meant": json.estimate(trade(test.rotation_meant, "mm"), "mm"),
        "by_hand": _by_hand(test.by_hand),
        "outliers": [unicode_text(text) for text in test.outliers],
        "remarks": [unicode_text(text) for text in test.remarks],
    }


def _by_hand(hand: ByHand | None) -> json.Tree | None:
    if hand is None:
        return None
    return {
        "fed_ratio": None if hand.calibration is None else _plain(hand.calibration),
        "fed_expanded_uncertainty": json.number(hand.calibration_expanded),
        "weight_ratio": json.number(hand.weight),
        "weight_expanded_uncertainty": json.number(hand.weight_expanded),
        "slips": [
            {
                "flow": _in("mm3/s", slip.flow),
                "share": json.number(slip.share),
                "expanded_uncertainty": json.number(slip.expanded),
                "by": slip.by,
            }
            for slip in hand.slips
        ],
        "mark_depth": json.estimate(trade(hand.mark_depth, "mm"), "mm"),
    }


def _step(step: Step) -> json.Tree:
    return {
        "flow": _in("mm3/s", step.flow),
        "length": _in("mm", step.length),
        "mass": _in("g", step.mass),
        "ratio": json.number(step.ratio),
        "expanded_uncertainty": json.number(step.expanded),
        "absolute_ratio": json.number(step.absolute),
        "absolute_expanded_uncertainty": json.number(step.absolute_expanded),
        "skipped": step.skipped,
        "repeats": step.repeats,
        "reference": step.reference,
        "lost": step.lost,
        "outlier": step.outlier,
        "lines": [at.line for at in step.at],
        "notes": [unicode_text(note) for note in step.notes],
        "fed_length": _in("mm", step.fed),
        "mark_depth": _in("mm", step.mark_depth),
        "mark_pitch": _in("mm", step.mark_pitch),
    }


def _contrast(contrast: Contrast) -> json.Tree:
    return {
        "name": unicode_text(contrast.name),
        "other": unicode_text(contrast.other),
        "knee_ratio": _plain(contrast.ratio),
        "sure_higher": json.number(contrast.sure),
    }


def _calibration(made: Calibration) -> json.Tree:
    return {
        "sheet": made.sheet and unicode_text(made.sheet),
        "extruder": unicode_text(made.extruder),
        "before": json.estimate(made.before, "mm3/s"),
        "after": json.estimate(made.after, "mm3/s"),
        "narrower": json.number(made.narrower),
        "bottleneck": made.bottleneck,
        "fits": json.number(made.fits),
        "contradiction": made.contradiction,
        "causes": list(made.causes),
    }
