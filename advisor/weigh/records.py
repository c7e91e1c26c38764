"""What a weighed test shows and what one needs, as frozen records; SI units, no arithmetic."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from advisor.base import Band, FileStatus, Span, parse_unit

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy as np
    from numpy.typing import NDArray


__all__ = [
    "Calibration",
    "Contrast",
    "Evaluation",
    "Evenness",
    "HandTest",
    "Plan",
    "PlanReport",
    "PlanStep",
    "Setup",
    "Slip",
    "Step",
    "WeighReport",
    "trade",
]


@dataclass(frozen=True, slots=True)
class Evenness:
    """How evenly a drive delivers up to where delivery falls.

    Attributes
    ----------
    pieces : int
        Pieces that it is told from.
    scatter : float
        Their scatter about an even course, relative, standard deviation, [-]
    explained : float
        What scale, cut and spool explain of it, [-]
    beyond : float or None
        What is left, where it is more than chance by 95 %, [-]
    """

    pieces: int
    scatter: float
    explained: float
    beyond: float | None


@dataclass(frozen=True, slots=True)
class Setup:
    """What must be known of the machine to read a test.

    Attributes
    ----------
    area, diameter : float
        Cross-section and diameter of the filament as the firmware reckons; a table may state
        the diameter of its spool, [m2], [m]
    density : tuple of float
        Low, typical, high, [kg/m3]
    rotation_distance : float or None
        As the config states it, [m]
    expected : Band or None
        Where delivery is expected to begin to fall, [m3/s]
    tooth_pitch : tuple of float or None
        Of the drive gear, where its teeth were counted, and its relative standard uncertainty,
        [m], [-]
    """

    area: float
    diameter: float
    density: tuple[float, float, float]
    rotation_distance: float | None = None
    expected: Band | None = None
    tooth_pitch: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """One flow of a test, its repeats joined.

    Attributes
    ----------
    flow, length, mass : float
        What was commanded, and the mass of one piece, [m3/s], [m], [kg]
    ratio, own, expanded : float
        Delivery against the slow reference; its standard uncertainty without the reference's;
        the expanded one with it, [-]
    absolute, absolute_expanded : float
        Delivery against the filament commanded, by density and diameter, [-]
    skipped : str
        yes, no or unsure: yes where any repeat skipped
    repeats : int
        Lines of the table.
    reference : bool
        Whether this is the slow reference.
    lost : bool
        Whether the ratio is below the level by more than its uncertainty.
    outlier : str or None
        Why it is left out of the fit.
    at : tuple of Span
        The lines.
    notes : tuple of str
        The remarks in the table.
    fed, mark_depth, mark_pitch : float or None
        What went in for one piece by ruler; depth and pitch of the tooth marks in it, [m]
    """

    flow: float
    length: float
    mass: float
    ratio: float
    own: float
    expanded: float
    absolute: float
    absolute_expanded: float
    skipped: str
    repeats: int
    reference: bool
    lost: bool
    outlier: str | None
    at: tuple[Span, ...]
    notes: tuple[str, ...] = ()
    fed: float | None = None
    mark_depth: float | None = None
    mark_pitch: float | None = None


@dataclass(frozen=True, slots=True)
class Slip:
    """Slip at one flow [m3/s]: share that did not go in, and its expanded uncertainty, [-].

    `by` says how it was seen: ``ruler`` and ``marks`` against the slow run's, ``gear``: the marks
    against the teeth of the gear.
    """

    flow: float
    share: float
    expanded: float
    by: str


@dataclass(frozen=True, slots=True)
class HandTest:
    """What ruler and caliper told beside the scale.

    Attributes
    ----------
    calibration : Band or None
        What went in of what was commanded in the slow run, by ruler, [-]
    calibration_expanded : float
        Its expanded uncertainty, [-]
    weight, weight_expanded : float or None, float
        Mass of a length of this filament over that by density and diameter; its expanded
        uncertainty, [-]
    slips : tuple of Slip
        Slip seen directly.
    mark_depth : Band or None
        Depth of the teeth in the filament, [m]
    """

    calibration: Band | None
    calibration_expanded: float
    weight: float | None
    weight_expanded: float
    slips: tuple[Slip, ...]
    mark_depth: Band | None


@dataclass(frozen=True, slots=True)
class Evaluation:
    """What one test shows.

    Attributes
    ----------
    name, file : str
        How the test is called, and its table.
    steps : tuple of Step
        By rising flow, the reference first.
    reference_ratio : Band
        Absolute delivery of the slow reference, [-]
    reference_expanded : float
        Its expanded uncertainty, [-]
    level : float
        Ratio below the knee, [-]
    knee : Band or None
        Where delivery begins to fall; None where it does not, [m3/s]
    draws, came_out : ndarray or None
        Draws of the knee, and of what came out there, sorted, [m3/s]
    droop : Band or None
        What is missing at the knee already: slip that grows with the feed force, [-]
    off_from : float or None
        The flow from which on the pieces lie so far below the slow run that one of the two is
        wrong: the knee holds only if it is the slow run; None in a sound test, [m3/s]
    clean : float or None
        The fastest flow up to which every piece weighed 97 % or more of what the slow run did and
        none skipped, [m3/s]
    last_without_skips, first_skip : float or None
        The largest flow below the first one that skipped; that one, [m3/s]
    intact : float
        The largest flow that lost no more than the droop, below the first that did; where there is
        no knee at most what it surely lies above, [m3/s]
    delivered : float
        The largest flow that came out, where the motor was not seen to skip, [m3/s]
    carried : float or None
        The largest flow that came out where it surely did not skip, [m3/s]
    loss : str
        slip, melt, skip, buckle or none; unsure where none of them is likely enough
    loss_odds : mapping of str to float
        Probability of each kind, the likeliest first; empty where nothing is lost, [-]
    rise : float or None
        Part of what is added beyond the knee that still comes out, [-]
    rotation_distance, rotation_meant : Band or None
        What it should be, where it is off for sure; what the slow run by itself would mean: by
        ruler where there is one, else by mass, [m]
    outliers, remarks : tuple of str
        Sentences.
    conditions : mapping of str to str
        Material, temperature and nozzle, as people write them.
    hardware : str or None
        Another build of the machine: then the test is compared and narrows nothing.
    by_hand : ByHand or None
        What ruler and caliper told.
    date, roll : str or None
        The day (2026-05-12) and the roll of filament, as the table says.
    built : mapping of str to str or float
        What the table says of the machine and its filament, by fact.
    expected : Band or None
        Where the machine as stated was expected to lose delivery, [m3/s]
    evenness : Evenness or None
        How evenly the whole pieces weigh; None where they are too few.
    """

    name: str
    file: str
    steps: tuple[Step, ...]
    reference_ratio: Band
    reference_expanded: float
    level: float
    knee: Band | None
    last_without_skips: float | None
    first_skip: float | None
    intact: float
    delivered: float
    carried: float | None
    loss: str
    rise: float | None
    rotation_distance: Band | None
    outliers: tuple[str, ...]
    remarks: tuple[str, ...]
    conditions: Mapping[str, str]
    hardware: str | None = None
    loss_odds: Mapping[str, float] = field(default_factory=dict)
    droop: Band | None = None
    off_from: float | None = None
    clean: float | None = None
    rotation_meant: Band | None = None
    by_hand: HandTest | None = None
    date: str | None = None
    roll: str | None = None
    built: Mapping[str, str | float] = field(default_factory=dict)
    expected: Band | None = None
    evenness: Evenness | None = None
    draws: NDArray[np.float64] | None = field(default=None, repr=False, compare=False)
    came_out: NDArray[np.float64] | None = field(default=None, repr=False, compare=False)


@dataclass(frozen=True, slots=True)
class Calibration:
    """What the tests make of the capacity [m3/s]; `narrower` is the part of the band that is gone.

    `contradiction` says that no plausible machine fits, with the likeliest causes.
    """

    extruder: str
    before: Band | None
    after: Band | None
    narrower: float | None
    bottleneck: str | None
    fits: float | None  # share of the plausible machines that the tests leave
    contradiction: str | None = None
    causes: tuple[str, ...] = ()
    sheet: str | None = None  # where the tables are of several
    set_to: float | None = None  # mm3/s: the cap, as `flow` tells it with the same tests


@dataclass(frozen=True, slots=True)
class Contrast:
    """How the knee of one test stands against another's; `sure`: share in which it is higher."""

    name: str
    other: str
    ratio: Band
    sure: float


@dataclass(frozen=True, slots=True)
class WeighReport:
    """Answer of `weigh read`."""

    tests: tuple[Evaluation, ...]
    calibrations: tuple[Calibration, ...] = ()  # one a sheet
    contrasts: tuple[Contrast, ...] = ()
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One step of a plan: flow [m3/s], speed of the filament [m/s], length [m], moves, time [s]."""

    flow: float
    speed: float
    length: float
    moves: int
    time: float
    reference: bool = False


@dataclass(frozen=True, slots=True)
class Plan:
    """A test to run.

    Attributes
    ----------
    steps : tuple of PlanStep
        In the order they are run: the slow reference first and last.
    temperature, area : float
        Of the nozzle, and the filament's cross-section, [K], [m2]
    length, time, mass : float
        Filament, time and mass of all pieces together, [m], [s], [kg]
    scale, mass_uncertainty : float
        Resolution of the scale, and the relative uncertainty of a piece it gives, [kg], [-]
    knee : Band
        Where delivery is expected to begin to fall, [m3/s]
    largest_move : float
        The longest move the firmware accepts, [m]
    lift, lift_speed : float
        Upward move before the test, if any, [m], [m/s]
    fan : float
        Speed of the part fan, as a share of its full speed, [-]
    fill, prime_speed : float
        Filament that fills the hot end before the first piece, and how fast what is cut away is
        fed, [m], [m/s]
    first : int
        Number of the first piece.
    stays_hot : bool
        Whether the heater is left on at the end, for the next piece.
    """

    steps: tuple[PlanStep, ...]
    temperature: float
    area: float
    length: float
    time: float
    mass: float
    scale: float
    mass_uncertainty: float
    knee: Band
    largest_move: float
    lift: float = 0.0
    lift_speed: float = 0.0
    fan: float = 0.0
    fill: float = 0.0
    prime_speed: float = 0.0
    first: int = 1
    stays_hot: bool = False


@dataclass(frozen=True, slots=True)
class PlanReport:
    """Answer of `weigh plan`: a plan, or why there is none; `stops` says when to stop the test."""

    extruder: str | None
    plan: Plan | None
    conditions: Mapping[str, str]
    gcode: str = ""
    table: str = ""
    refused: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
    whole: Plan | None = None  # the whole test, where `plan` holds its first two pieces alone


def trade(band: Band | None, unit: str) -> Band | None:
    """Return an SI band in a trade unit."""
    if band is None:
        return None
    ends = (band.value, band.low, band.high)
    return Band(*(float(parse_unit(unit).from_si(end)) for end in ends))
