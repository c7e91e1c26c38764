"""A weighed test planned and read, as the library and the JSON hand it out; it computes nothing.

Trade units throughout: flows in mm3/s, speeds in mm/s, lengths in mm, masses in g, times in s.
"""

from __future__ import annotations

from collections.abc import Mapping

from advisor.base import Band, FileStatus, frozen
from advisor.weigh.records import Calibration, Contrast

__all__ = [
    "WeighPlan",
    "WeighPlanAnswer",
    "WeighPlanStep",
    "WeighReadAnswer",
    "WeighedByHand",
    "WeighedSlip",
    "WeighedStep",
    "WeighedTest",
]


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
