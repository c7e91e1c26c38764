"""A weighed test planned, made, read and compared, as the library and the JSON hand it out.

Trade units throughout: flows in mm3/s, speeds in mm/s, lengths in mm, masses in g, times in s.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import field
from typing import overload

from advisor.base import Band, FileStatus, frozen, parse_unit
from advisor.weigh.records import (
    Calibration,
    Contrast,
    Evaluation,
    Evenness,
    HandTest,
    Plan,
    PlanReport,
    PlanStep,
    Step,
    WeighReport,
    trade,
)

__all__ = [
    "DeliveredMore",
    "FlowRow",
    "NextPiece",
    "ProvedFlow",
    "WeighCompareAnswer",
    "WeighNextAnswer",
    "WeighPlan",
    "WeighPlanAnswer",
    "WeighPlanStep",
    "WeighReadAnswer",
    "WeighedByHand",
    "WeighedSlip",
    "WeighedStep",
    "WeighedTest",
    "plan_in_trade",
    "read_in_trade",
    "tests_in_trade",
]

_FLOW = "mm3/s"


@frozen
class WeighPlanStep:
    """One step of a plan: what is fed, how fast, in how many moves."""

    flow: float  # mm3/s
    speed: float  # mm/s of filament
    length: float  # mm
    moves: int
    time: float  # s
    reference: bool  # the slow run that all others are set against


@frozen
class WeighPlan:
    """A test to run; its steps in the order they are run."""

    steps: tuple[WeighPlanStep, ...]
    temperature: float  # degC, of the nozzle
    filament: float  # mm, of all pieces together
    time: float  # s
    mass: float  # g
    scale: float  # g, resolution
    mass_uncertainty: float  # relative, of a piece
    expected_knee: Band  # mm3/s, where under-extrusion is likely to start
    lift: float  # mm, before the test


@frozen
class WeighPlanAnswer:
    """Answer of `weigh plan`: a plan with its G-code and table, or why there is none."""

    extruder: str | None
    plan: WeighPlan | None
    conditions: Mapping[str, str]
    gcode: str
    table: str
    refused: tuple[str, ...]
    cautions: tuple[str, ...]
    remarks: tuple[str, ...]
    files: tuple[FileStatus, ...]
    errors: tuple[str, ...]


@frozen
class WeighedStep:
    """One flow of a test, its repeats joined; ratios are against the slow reference."""

    flow: float  # mm3/s
    length: float  # mm, of one piece
    mass: float  # g
    ratio: float
    expanded_uncertainty: float  # of the ratio, 95 %
    absolute_ratio: float  # against the filament commanded
    absolute_expanded_uncertainty: float
    skipped: str  # yes | no | unsure
    repeats: int
    reference: bool
    lost: bool  # below the level by more than its uncertainty
    outlier: str | None  # why it is left out
    lines: tuple[int, ...]  # of the table
    notes: tuple[str, ...]
    fed_length: float | None  # mm, by ruler
    mark_depth: float | None  # mm
    mark_pitch: float | None  # mm


@frozen
class WeighedSlip:
    """Slip at one flow in mm3/s: the share that did not go in, and how it was seen."""

    flow: float
    share: float
    expanded_uncertainty: float
    by: str  # ruler | marks | gear


@frozen
class WeighedByHand:
    """What ruler and caliper told beside the scale."""

    fed_ratio: Band | None
    fed_expanded_uncertainty: float
    weight_ratio: float | None
    weight_expanded_uncertainty: float
    slips: tuple[WeighedSlip, ...]
    mark_depth: Band | None  # mm


@frozen
class WeighedTest:
    """What one test shows; its steps by rising flow, the reference first."""

    name: str
    file: str
    conditions: Mapping[str, str]
    knee: Band | None  # mm3/s, where under-extrusion starts; None where it does not
    droop: Band | None  # share that is missing at the knee already
    clean_flow: float | None  # mm3/s, up to which every piece was whole and nothing skipped
    last_without_skips: float | None  # mm3/s
    first_skip: float | None  # mm3/s
    reference_ratio: Band
    reference_expanded_uncertainty: float
    level: float  # ratio below the knee
    steps: tuple[WeighedStep, ...]
    loss: str  # slip | melt | skip | buckle | none | unsure
    loss_odds: Mapping[str, float]
    rise: float | None  # part of what is added beyond the knee that still comes out
    rotation_distance: Band | None  # mm; None where the config's is right
    rotation_distance_meant: Band | None  # mm
    by_hand: WeighedByHand | None
    outliers: tuple[str, ...]
    remarks: tuple[str, ...]
    hardware: str | None  # another build: then the test narrows nothing
    date: str | None = None  # 2026-05-12
    roll: str | None = None  # of filament, as its owner calls it


@frozen
class WeighReadAnswer:
    """Answer of `weigh read`: each test, how they compare, what they make of the capacity."""

    tests: tuple[WeighedTest, ...]
    calibrations: tuple[Calibration, ...]
    contrasts: tuple[Contrast, ...]
    files: tuple[FileStatus, ...]
    errors: tuple[str, ...]


@frozen
class NextPiece:
    """A piece to weigh: what is fed, how fast, and the row of the table for it."""

    flow: float  # mm3/s
    speed: float  # mm/s of filament
    length: float  # mm
    cut_away: float  # mm, pushed and cut away before it
    time: float  # s
    reference: bool
    row: str  # of the table, its mass to be filled in
    width_after: float | None = None  # of the range over its middle, as expected; None: unknown
    sure_after: float | None = None  # of the answer to `prove`, as expected


@frozen
class ProvedFlow:
    """Whether under-extrusion starts above a flow, as far as the pieces and the model tell."""

    flow: float  # mm3/s
    above: float  # probability
    answer: str  # yes | no | open
    by_model: bool  # no piece at 0.9 of it or above was weighed or skipped: the model tells most


@frozen
class WeighNextAnswer:
    """Answer of `weigh next`: the next piece, or that the test may end, with the reading so far."""

    extruder: str | None
    table: str
    stop: str | None  # why the test may end: width | pieces | proved | little; None: go on
    piece: NextPiece | None  # the next one; at the end what one more would be
    weighed: int  # flows that count
    most: int  # pieces after which it ends
    limit: Band | None  # mm3/s, where under-extrusion starts, as `weigh read` tells it
    believed: Band | None  # mm3/s, the same by pieces and model together
    width: float | None  # of `limit` over its middle
    wanted: float | None  # the width that the whole test would give here
    whole_pieces: int | None  # of the whole test
    used: float  # mm of filament so far
    used_whole: float | None  # mm of filament of the whole test
    prove: ProvedFlow | None = None
    config: str = "CONFIG"  # the config of the machine, as it was named
    conditions: Mapping[str, str] = field(default_factory=dict)
    gcode: str = ""
    cautions: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()


@frozen
class DeliveredMore:
    """By how much more the second delivers before it under-extrudes than the first [mm3/s].

    ``sure`` is how sure it is that it is more at all. ``at_least``: the second was whole to the
    end of its test, ``at_most``: the first was; then the band is of what can be said.
    """

    more: Band
    sure: float
    at_least: bool = False
    at_most: bool = False


@frozen
class FlowRow:
    """What comes out of both at one commanded flow, and by how much more of the second [mm3/s].

    ``sure`` is how sure it is that the second delivers more.
    """

    flow: float
    first: float
    second: float
    more: Band
    sure: float


@frozen
class WeighCompareAnswer:
    """Answer of `weigh compare`: what the second test shows against the first.

    Attributes
    ----------
    tests : tuple of WeighedTest
        Both; empty where one could not be read.
    more : DeliveredMore or None
        The answer; None where neither under-extrudes.
    rows : tuple of FlowRow
        By rising flow, in the range that both were weighed in.
    slow_ratio : Band or None
        What the second's slow run weighed over the first's, by length commanded, [-]
    expected : tuple of Band or None
        Where the model without any test expects delivery to fall, [mm3/s]
    expected_more : float or None
        The typical one of the second less that of the first, [mm3/s]
    evenness : tuple of Evenness or None
        Of both; None where too few pieces are whole.
    change : bool
        Whether both are tests of one machine on one filament: then it is what changed with time.
    shared_filament : bool
        Whether density and diameter are taken to be the same spool's, so that they cancel.
    cautions : tuple of str
        What differs besides, or would explain a change.
    """

    tests: tuple[WeighedTest, ...]
    more: DeliveredMore | None = None
    rows: tuple[FlowRow, ...] = ()
    slow_ratio: Band | None = None
    expected: tuple[Band | None, ...] = ()
    expected_more: float | None = None
    evenness: tuple[Evenness | None, ...] = ()
    change: bool = False
    shared_filament: bool = True
    cautions: tuple[str, ...] = ()
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()


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
