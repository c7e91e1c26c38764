"""What the commands beside `lint` have to say, as frozen records; it computes nothing."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypedDict

from advisor.base import (
    Band,
    Case,
    Figure,
    FileStatus,
    Finding,
    LeverGain,
    NextStep,
    Span,
    Weighed,
    frozen,
)

__all__ = [
    "DemandReport",
    "DemandRow",
    "DerateReport",
    "Derivation",
    "ExcessPlace",
    "Explanation",
    "FeatureAsk",
    "FlowReport",
    "SeriesRow",
    "SlowedMoves",
    "WindowRow",
    "WorstPlace",
]


@frozen
class DerateReport:
    """Answer of `derate`: currents in A, temperatures in degC, each an estimate or None."""

    rating: float  # A, as typed
    basis: str  # peak | rms | unsure
    share: float
    rated_current_rms: Band
    derated_current: Band
    set_current: float | None  # A RMS, rounded down to 0.01 A
    no_setting: str | None  # why there is no setting
    applied_current: Band | None  # None where the driver is not known
    winding_temperature: Band | None
    case_temperature: Band | None
    limits: Mapping[str, Band]  # "share", "winding", "mount", "chip": safe current of each, A RMS
    governed_by: str  # the limit that sets the derated current
    cautious: Band  # the rating read as peak per phase, times the share, A RMS
    thermal: Band  # the rating read as RMS with both phases on, A RMS: the motor's own heat limit
    peak_amplitude: float | None  # A, amplitude of the set current
    ambient: Band
    mount: str | None
    driver: str | None
    sense_resistor: float | None  # ohm
    full_scale_current: Band | None  # A RMS, the most the driver can be set to
    assumptions: tuple[str, ...]  # sentences
    cautions: tuple[str, ...]
    motor: str = ""  # its class, stated or by the rating
    material: str | None = None
    torque_share: float | None = None  # of that at the rated RMS current
    push_share: float | None = None
    case_soon: Band | None = None  # degC, 10 minutes after the current was set
    case_later: Band | None = None  # degC, after an hour
    time_constant: Band | None = None  # s, of the case
    stop_reading: float | None = None  # degC after 10 minutes that ends at the limit in an hour
    gear_temperature: Band | None = None  # degC, with the material's limit; it sets no current
    filament_limit: Band | None = None  # degC
    filament_current: Band | None = None  # A RMS at which the gears reach it

    @property
    def applied_or_set(self) -> float | None:
        """What flows, A RMS: what the driver applies of the setting, where it is known."""
        return self.applied_current.value if self.applied_current is not None else self.set_current


@frozen
class Derivation:
    """One step of a fact's chain: the fact, what it was made from, in what words."""

    fact: Figure
    title: str
    formula: str | None
    depth: int
    repeated: bool = False  # shown in full further up


class CatalogueFigure(TypedDict):
    """A number of the catalogue in its trade unit, with its spread and where it is from."""

    fact: str
    low: float
    typical: float
    high: float
    unit: str
    source: str
    status: str


@frozen
class Explanation:
    """Answer of `explain`: what a name means; with a config, how its value came about."""

    kind: str  # rule | fact | setting | word | names | material | motor | hotend | driver ...
    name: str
    title: str
    lines: tuple[tuple[str, str], ...]  # (label, text): "Why", "Fix", "When", "Source" ...
    numbers: tuple[CatalogueFigure, ...] = ()
    extruder: str | None = None
    derivation: tuple[Derivation, ...] = ()
    at: Span | None = None
    findings: tuple[Finding, ...] = ()
    spoken: tuple[tuple[str, str], ...] = ()  # `lines` for people, where they differ


@frozen
class FeatureAsk:
    """What one feature of a print asks: its flow in mm3/s, and the speed that would fit."""

    name: str
    title: str
    speed: float  # mm/s
    width: float | None  # mm; None where the slicer chooses it
    height: float | None  # mm
    flow: float | None  # mm3/s; None where width or height is open
    sure: float | None  # share of likely machines in which it is above capacity
    speed_that_fits: float | None  # mm/s at the nominal capacity; None where it fits already
    at: Span | None = None


@frozen
class FlowReport:
    """Answer of `flow`: does what is asked exceed what the extruder delivers, in mm3/s."""

    extruder: str | None
    asked: Band | None  # None where nothing is asked, or it cannot be known
    asked_by: str | None  # in words: what asks it
    asked_at: Span | None
    capacity: Band | None
    exceeds: bool | None
    sure: float | None  # share of likely machines in which it exceeds
    bottleneck: str | None
    set_to: float | None  # the largest flow to set, mm3/s; never 0
    setting: str | None  # the profile's key to set, where it has one
    features: tuple[FeatureAsk, ...] = ()
    lacking: tuple[str, ...] = ()  # sentences: what is not known and why
    findings: tuple[Finding, ...] = ()  # of the slicer stage
    assumed: tuple[str, ...] = ()  # titles of what nobody stated
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
    weighed: Weighed | None = None
    no_set_to: str | None = None  # why there is no flow to set, where the capacity is known
    cases: tuple[Case, ...] = ()  # where one unknown of a few classes decides
    next: NextStep | None = None  # what would narrow the capacity most
    draws: int | None = None  # likely machines behind the bands; None: as many as usual
    gains: tuple[LeverGain, ...] = ()  # what would help, the largest first


@frozen
class DemandRow:
    """What one feature or one layer of a print asks; flows in mm3/s, volume in mm3, time in s."""

    name: str
    time: float
    volume: float
    peak: float
    sustained: float | None
    above_time: float  # share of its time above capacity
    above_volume: float  # share of its volume above capacity
    height: float | None = None  # mm; of a layer


@frozen
class WorstPlace:
    """A place of a print with a large flow: line from 1, height in mm, flow in mm3/s."""

    line: int
    height: float | None
    flow: float
    feature: str | None


@frozen
class WindowRow:
    """What a print asks of one limit over the limit's own window, mm3/s."""

    limit: str
    window_s: float | None  # s; None where the window is a volume
    window_mm3: float | None  # None where it is a time
    shortest_s: float | None  # s; below `window_s` where the print changes its pressure advance
    asked: float | None  # None where the print is shorter than the window holds
    line: int  # in which the window ends
    allowed: Band
    share_above: float  # of the extruding time


@frozen
class ExcessPlace:
    """A place where a print asks more than a limit allows: mm3/s, mm, s."""

    line: int
    height: float | None
    feature: str | None
    limit: str
    asked: float
    allowed: float
    time: float


@frozen
class SeriesRow:
    """A stretch of a print: start and duration in s, flows in mm3/s, height in mm."""

    time: float
    duration: float
    mean_flow: float
    peak_flow: float
    height: float | None
    line: int


@frozen
class RefusedMoves:
    """What the firmware stops a print at: how often, the first line, the largest ask, the limit.

    ``kind`` is ``distance`` [mm], ``section`` [mm2], ``hot`` or ``cold`` [degC].
    """

    kind: str
    count: int
    line: int
    asked: float
    allowed: float


@frozen
class SlowedMoves:
    """Moves of filament alone that the firmware slows: how many, the worst one's line and figures.

    ``kind`` is ``speed``: ``asked`` and ``runs`` at, [mm/s]; or ``time``: what the move takes at
    its speed alone, and with the acceleration limit, [s].
    """

    kind: str
    count: int
    line: int
    asked: float
    runs: float


@frozen(kw_only=True)
class DemandReport:
    """Answer of `demand`: what a sliced print asks over time, against the capacity."""

    path: str
    extruder: str | None
    moves: int
    time: float  # s
    volume: float  # mm3
    filament: float  # mm
    peak: float  # mm3/s
    peak_line: int
    sustained: float | None  # mm3/s over one melt-zone volume
    sustained_line: int
    melt_volume: float  # mm3
    capacity: Band | None
    skip: Band | None
    cap: float | None  # the profile's stated largest flow, mm3/s
    above_capacity_time: float  # share of time
    above_capacity_volume: float  # share of volume
    above_skip_time: float
    above_skip_volume: float
    sure: float | None  # share of likely machines in which it is above a limit anywhere
    exceeds: bool | None  # it does not fit
    extruder_peak_speed: float  # mm/s of filament, with pressure advance
    extruder_peak_accel: float  # mm/s2
    advance_speed_share: float | None  # motor speed there over the corner speed
    features: tuple[DemandRow, ...] = ()
    layers: tuple[DemandRow, ...] = ()
    worst: tuple[WorstPlace, ...] = ()
    series: tuple[SeriesRow, ...] = ()
    remarks: tuple[str, ...] = ()  # sentences: what could not be read, what was assumed
    lacking: tuple[str, ...] = ()
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
    weighed: Weighed | None = None
    verdict: str | None = None  # fits | fits-except | does-not-fit; None: not known
    windows: tuple[WindowRow, ...] = ()
    places: tuple[ExcessPlace, ...] = ()  # the worst of those above a limit
    place_count: int = 0
    above_any: float = 0.0  # share of the extruding time above any limit
    cap_that_removes: float | None = None  # mm3/s
    refused: tuple[RefusedMoves, ...] = ()  # what the firmware stops the print at
    slowed: tuple[SlowedMoves, ...] = ()  # moves of filament alone that the firmware slows
    cases: tuple[Case, ...] = ()  # where one unknown of a few classes decides
    gains: tuple[LeverGain, ...] = ()  # what would help, the largest first
