"""What `demand` answers, as frozen records; they compute nothing."""

from __future__ import annotations

from advisor.base import (
    Band,
    Case,
    FileStatus,
    Finding,
    LeverGain,
    Weighed,
    frozen,
)

__all__ = [
    "CapTimesAnswer",
    "CappedTime",
    "DemandReport",
    "DemandRow",
    "ExcessPlace",
    "RefusedMoves",
    "SeriesRow",
    "SlicerTime",
    "SlowedMoves",
    "WindowRow",
    "WorstPlace",
]


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
class CappedTime:
    """A print with every flow held to a cap in mm3/s.

    ``time`` in s; shares: ``saves`` of the time at the smallest of the caps, ``held`` of this
    time by the cap. All three are None above the cap that the print was sliced with.
    """

    flow: float
    time: float | None = None
    saves: float | None = None
    held: float | None = None


@frozen(kw_only=True)
class CapTimesAnswer:
    """What more flow would buy of a print: its time under each cap, the smallest first.

    Shares of the time as it is: ``held`` at the flow of the cap it was sliced with, ``accel``
    speeding up and slowing down, ``speed`` at the set speed, ``rest`` pauses and filament alone.
    ``sliced`` is the cap it was sliced with in mm3/s, where one holds it, and ``sliced_line`` the
    line that states it (0: found as a heap of volume); ``enough``: from this of the caps on
    nothing is gained, None where that is not seen.
    """

    rows: tuple[CappedTime, ...]
    held: float
    accel: float
    speed: float
    rest: float
    sliced: float | None
    sliced_line: int
    enough: float | None


@frozen
class SlicerTime:
    """The time that the slicer states for a print in s, the line, and what it is beside the plan.

    ``plain``: the time at the set speeds alone, without acceleration, in s; ``kind``: ``alike``,
    ``plain`` (reckoned without acceleration) or ``other``.
    """

    time: float
    line: int
    plain: float
    kind: str


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
    caps: CapTimesAnswer | None = None  # where caps were asked for
    slicer_time: SlicerTime | None = None  # where the file states one
    cases: tuple[Case, ...] = ()  # where one unknown of a few classes decides
    gains: tuple[LeverGain, ...] = ()  # what would help, the largest first
    findings: tuple[Finding, ...] = ()  # where that is not what was named, or what the print sets
    material: str | None = None  # what the figures are for
    temperature: float | None = None  # degC, of the nozzle
    nozzle: float | None = None  # mm, its bore
