"""Turns weighed tests, planned and read, into trade units: what answers hand out."""

from __future__ import annotations

from collections.abc import Iterable
from typing import overload

from advisor.base import parse_unit
from advisor.weigh.answers import (
    WeighedByHand,
    WeighedSlip,
    WeighedStep,
    WeighedTest,
    WeighPlan,
    WeighPlanAnswer,
    WeighPlanStep,
    WeighReadAnswer,
)
from advisor.weigh.records import (
    Evaluation,
    HandTest,
    Plan,
    PlanReport,
    PlanStep,
    Step,
    WeighReport,
    trade,
)

__all__ = ["plan_in_trade", "read_in_trade", "tests_in_trade"]

_FLOW = "mm3/s"


@overload
def _in(unit: str, value: float) -> float: ...
@overload
def _in(unit: str, value: None) -> None: ...
def _in(unit: str, value: float | None) -> float | None:
    return None if value is None else float(parse_unit(unit).from_si(value))


def plan_in_trade(report: PlanReport) -> WeighPlanAnswer:
    """Return the answer of `weigh plan` in trade units."""
    return WeighPlanAnswer(
        extruder=report.extruder,
        plan=None if report.plan is None else _plan(report.plan),
        conditions=report.conditions,
        gcode=report.gcode,
        table=report.table,
        refused=report.refused,
        cautions=report.cautions,
        remarks=report.remarks,
        files=report.files,
        errors=report.errors,
    )


def _plan(plan: Plan) -> WeighPlan:
    knee = trade(plan.knee, _FLOW)
    assert knee is not None
    return WeighPlan(
        steps=tuple(_plan_step(step) for step in plan.steps),
        temperature=_in("degC", plan.temperature),
        filament=_in("mm", plan.length),
        time=plan.time,
        mass=_in("g", plan.mass),
        scale=_in("g", plan.scale),
        mass_uncertainty=plan.mass_uncertainty,
        expected_knee=knee,
        lift=_in("mm", plan.lift),
    )


def _plan_step(step: PlanStep) -> WeighPlanStep:
    return WeighPlanStep(
        flow=_in(_FLOW, step.flow),
        speed=_in("mm/s", step.speed),
        length=_in("mm", step.length),
        moves=step.moves,
        time=step.time,
        reference=step.reference,
    )


def read_in_trade(report: WeighReport) -> WeighReadAnswer:
    """Return the answer of `weigh read` in trade units."""
    return WeighReadAnswer(
        tests=tests_in_trade(report.tests),
        calibrations=report.calibrations,
        contrasts=report.contrasts,
        files=report.files,
        errors=report.errors,
    )


def tests_in_trade(tests: Iterable[Evaluation]) -> tuple[WeighedTest, ...]:
    """Return what tests show in trade units."""
    return tuple(_test(test) for test in tests)


def _test(test: Evaluation) -> WeighedTest:
    return WeighedTest(
        name=test.name,
        file=test.file,
        conditions=test.conditions,
        knee=trade(test.knee, _FLOW),
        droop=test.droop,
        clean_flow=_in(_FLOW, test.clean),
        last_without_skips=_in(_FLOW, test.last_without_skips),
        first_skip=_in(_FLOW, test.first_skip),
        reference_ratio=test.reference_ratio,
        reference_expanded_uncertainty=test.reference_expanded,
        level=test.level,
        steps=tuple(_step(step) for step in test.steps),
        loss=test.loss,
        loss_odds=test.loss_odds,
        rise=test.rise,
        rotation_distance=trade(test.rotation_distance, "mm"),
        rotation_distance_meant=trade(test.rotation_meant, "mm"),
        by_hand=None if test.by_hand is None else _by_hand(test.by_hand),
        outliers=test.outliers,
        remarks=test.remarks,
        hardware=test.hardware,
        date=test.date,
        roll=test.roll,
    )


def _step(step: Step) -> WeighedStep:
    return WeighedStep(
        flow=_in(_FLOW, step.flow),
        length=_in("mm", step.length),
        mass=_in("g", step.mass),
        ratio=step.ratio,
        expanded_uncertainty=step.expanded,
        absolute_ratio=step.absolute,
        absolute_expanded_uncertainty=step.absolute_expanded,
        skipped=step.skipped,
        repeats=step.repeats,
        reference=step.reference,
        lost=step.lost,
        outlier=step.outlier,
        lines=tuple(at.line for at in step.at),
        notes=step.notes,
        fed_length=_in("mm", step.fed),
        mark_depth=_in("mm", step.mark_depth),
        mark_pitch=_in("mm", step.mark_pitch),
    )


def _by_hand(hand: HandTest) -> WeighedByHand:
    return WeighedByHand(
        fed_ratio=hand.calibration,
        fed_expanded_uncertainty=hand.calibration_expanded,
        weight_ratio=hand.weight,
        weight_expanded_uncertainty=hand.weight_expanded,
        slips=tuple(
            WeighedSlip(_in(_FLOW, slip.flow), slip.share, slip.expanded, slip.by)
            for slip in hand.slips
        ),
        mark_depth=trade(hand.mark_depth, "mm"),
    )
