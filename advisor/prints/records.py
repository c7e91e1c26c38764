"""What goes into the analysis of a sliced print and what comes out of it, as frozen records.

All values are SI. The module computes no flow and reads no G-code.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import fields

from advisor.base import InputError, frozen

__all__ = [
    "Allowed",
    "CapTime",
    "CapTimes",
    "Excess",
    "FeatureDemand",
    "LayerDemand",
    "MachineLimits",
    "Note",
    "OwnTime",
    "Peak",
    "PrintPlace",
    "PrintReport",
    "Refused",
    "SeriesPoint",
    "SlicedCap",
    "Slowed",
    "Stated",
    "ToolDemand",
    "WindowDemand",
    "Windows",
]

FREE_ACCEL = 1e5  # m/s2; stands for "no limit" on extrude-only moves
_MAY_BE_ZERO = frozenset(
    {
        "square_corner_velocity",
        "min_cruise_ratio",
        "corner_velocity",
        "pressure_advance",
        "smooth_time",
        "retract_length",
        "max_extrude_only_distance",
    }
)
_ANY = frozenset({"unretract_extra", "min_extrude_temperature"})


@frozen(kw_only=True)
class MachineLimits:
    """What the firmware's config allows the motion, in SI; the print may change some of it.

    Parameters
    ----------
    max_velocity, max_accel : float
        Of the head, [m/s], [m/s2]
    square_corner_velocity : float
        Speed through a right angle, [m/s]
    min_cruise_ratio : float
        Share of a speed-up and slow-down that must be cruise, from 0 up to below 1, [-]
    max_extrude_only_velocity, max_extrude_only_accel : float
        Of the filament in moves without path, in wipes and in lifts with filament; inf where
        there is no limit, [m/s], [m/s2]
    corner_velocity : float
        Largest step of filament speed between two moves, [m/s]
    pressure_advance, smooth_time : float
        Pressure advance and the time over which it is smoothed, [s]
    retract_length : float or None
        Of firmware retraction; None where the firmware has none, [m]
    retract_speed, unretract_speed : float
        Of firmware retraction, [m/s]
    unretract_extra : float
        Filament that is pushed back beyond the retracted length, [m]
    max_z_velocity, max_z_accel : float
        Of the vertical axis; inf where unknown, [m/s], [m/s2]
    arc_resolution : float
        Length of the straight pieces the firmware cuts an arc into, [m]
    max_extrude_only_distance : float
        Filament that one move without path in x or y, or backward, may have, [m]
    max_cross_section : float
        Thickest line that is let through, [m2]
    nozzle_diameter : float
        Of the nozzle; a move with less filament than it is wide at the limit is let through, [m]
    max_temperature, min_extrude_temperature : float
        Highest of the nozzle, and lowest at which filament is moved, [K]

    Raises
    ------
    InputError
        If a value is no number, or not above zero where it must be.
    """

    max_velocity: float
    max_accel: float
    square_corner_velocity: float = 5e-3
    min_cruise_ratio: float = 0.5
    max_extrude_only_velocity: float = math.inf
    max_extrude_only_accel: float = math.inf
    corner_velocity: float = 1e-3
    pressure_advance: float = 0.0
    smooth_time: float = 0.04
    retract_length: float | None = None
    retract_speed: float = 20e-3
    unretract_speed: float = 10e-3
    unretract_extra: float = 0.0
    max_z_velocity: float = math.inf
    max_z_accel: float = math.inf
    arc_resolution: float = 1e-3
    max_extrude_only_distance: float = math.inf
    max_cross_section: float = math.inf
    nozzle_diameter: float = 0.4e-3
    max_temperature: float = math.inf
    min_extrude_temperature: float = -math.inf

    def __post_init__(self) -> None:
        for item in fields(self):
            value = getattr(self, item.name)
            if value is None or item.name in _ANY:
                continue
            low_enough = value >= 0.0 if item.name in _MAY_BE_ZERO else value > 0.0
            if not low_enough or (item.name == "min_cruise_ratio" and value >= 1.0):
                problem = f"the machine limit {item.name.replace('_', ' ')} cannot be {value:g}"
                raise InputError(problem, "state a number in range")


@frozen
class Note:
    """Something the reader could not take as it stands: a word, a sentence, how often, where."""

    kind: str
    message: str
    count: int
    line: int
    text: str = ""


@frozen
class PrintPlace:
    """A place of large flow: line from 1, height [m], flow [m3/s], width and layer height [m]."""

    line: int
    height: float | None
    flow: float
    feature: str | None
    tool: int = 0
    width: float | None = None
    layer_height: float | None = None


@frozen
class Allowed:
    """A limit a print is held to: its name, its flow [m3/s], and the window it is felt over.

    ``over`` is "lag" (the time by which the pressure lags), "heat" (the time the heater takes) or
    "melt" (the volume of the melt zone).
    """

    limit: str
    flow: float
    over: str


@frozen(kw_only=True)
class Windows:
    """What a print is held to.

    Parameters
    ----------
    lag : float
        Time by which the pressure lags where no pressure advance is set; where one is, that is
        the lag, [s]
    heat : float
        Time over which the heater feels the flow, [s]
    allowed : tuple of Allowed
        The known limits.

    Raises
    ------
    InputError
        If a time is not above zero.
    """

    lag: float
    heat: float
    allowed: tuple[Allowed, ...] = ()

    def __post_init__(self) -> None:
        for name in ("lag", "heat"):
            value = getattr(self, name)
            if not 0.0 < value < math.inf:
                problem = f"a window of {value:g} s ({name}) cannot be"
                raise InputError(problem, "state a time above 0")


@frozen
class WindowDemand:
    """What a print asks of one limit, over the limit's own window.

    ``shortest`` and ``longest`` window, [s] or [m3] as ``over`` says; ``asked``: the largest mean
    [m3/s] and the line its window ends in, None where the print is shorter than the window holds;
    ``allowed`` [m3/s]; ``above``: extruding time at which the mean is above it, [s].
    """

    limit: str
    over: str
    shortest: float
    longest: float
    asked: Peak | None
    allowed: float
    above: float


@frozen
class Excess:
    """A place where a print asks more than a limit allows; others within a second are the same.

    ``limit`` is the one exceeded the most, ``asked`` the mean over its window there and
    ``allowed`` [m3/s]; ``time``: extruding time above any limit [s]; ``line`` the worst one's.
    """

    line: int
    height: float | None
    feature: str | None
    tool: int
    limit: str
    asked: float
    allowed: float
    time: float


@frozen
class Refused:
    """Moves the firmware stops a print at: how many, the first line, the largest ask, the limit.

    ``kind`` is "distance" [m] or "section" [m2] of a move, "hot" or "cold" [K] of the nozzle.
    """

    kind: str
    count: int
    line: int
    asked: float
    allowed: float


@frozen
class Slowed:
    """Moves of filament alone that the firmware slows: how many, the worst one's line and figures.

    ``kind`` is "speed" (``worse`` is asked, ``better`` the limit, [m/s]) or "time" (``worse`` is
    how long it takes with its acceleration, ``better`` without, [s]).
    """

    kind: str
    count: int
    line: int
    worse: float
    better: float


@frozen
class Peak:
    """The largest value of something and the line it stands in; line 0 where there is none."""

    value: float
    line: int


@frozen
class FeatureDemand:
    """What one feature asks: time [s], volume [m3], peak and sustained flow [m3/s].

    ``sustained`` is the largest mean over the melt volume of windows that end in this feature;
    None where none does. ``over_*`` is above the capacity, ``skip_*`` above the skip flow.
    """

    feature: str | None
    title: str
    moves: int
    time: float
    volume: float
    peak: float
    sustained: float | None
    over_time: float
    over_volume: float
    skip_time: float
    skip_volume: float


@frozen
class LayerDemand:
    """What the moves at one height [m] ask; the other fields as in `FeatureDemand`."""

    height: float
    line: int
    moves: int
    time: float
    volume: float
    peak: float
    sustained: float | None
    over_time: float
    over_volume: float


@frozen
class ToolDemand:
    """What one tool asks; filament is what was pushed less what was pulled back [m]."""

    tool: int
    time: float
    volume: float
    filament: float
    peak: float
    sustained: float | None


@frozen
class SeriesPoint:
    """A stretch of time: start and duration [s], mean and peak flow [m3/s], height [m], line."""

    time: float
    duration: float
    mean: float
    peak: float
    height: float | None
    line: int


@frozen
class Stated:
    """A setting of the slicer that the print itself states, as text."""

    name: str
    key: str
    text: str
    line: int


@frozen
class OwnTime:
    """The time that the slicer states for a print [s], its line, and what it is beside the plan.

    ``plain``: the time at the set speeds alone, without acceleration [s]. ``kind``: ``alike`` (it
    agrees with the plan), ``plain`` (it was reckoned without acceleration), or ``other``.
    """

    time: float
    line: int
    plain: float
    kind: str


@frozen
class CapTime:
    """A print with every flow held to a cap [m3/s]: its time, and the part held by the cap [s]."""

    flow: float
    time: float
    held_time: float


@frozen
class SlicedCap:
    """The cap a print was sliced with: its flow [m3/s], and the line that states it.

    ``line`` is 0 where it was found as a heap of volume at that flow.
    """

    flow: float
    line: int


@frozen(kw_only=True)
class CapTimes:
    """A print under several caps, and what limits its time as it is.

    ``times`` are in the order of the caps asked for. Of the time without a cap [s]: ``held_time``
    at the flow of the cap it was sliced with, ``accel_time`` speeding up, slowing down, or too
    short to reach its speed, ``speed_time`` at the set speed or the machine's; the rest are pauses
    and filament alone. ``sliced`` is None where no cap that holds it was found; ``gained``: the
    smallest of these flows from which on the time is the one without a cap (within a small share
    that is data), None where there is none; ``within``: flows so close, as a share, are one.
    """

    times: tuple[CapTime, ...]
    held_time: float
    accel_time: float
    speed_time: float
    sliced: SlicedCap | None
    gained: float | None
    within: float


@frozen(kw_only=True)
class PrintReport:
    """What a sliced print asks of its extruder, in SI.

    ``time`` is all motion and dwell, without heating; it is the sum of ``extruding_time``
    (moves with path and filament), ``travel_time``, ``extrude_only_time`` and ``pause_time``.
    ``volume`` counts moves with path and filament forward, and pushes of filament alone that are
    new plastic and longer than what the melt zone holds; these count as extruding time. Shares
    refer to ``time`` and ``volume``. Where no capacity (or skip flow) was given the ``over_*``
    (``skip_*``) are 0. ``windows`` judge each limit over its own window; ``excesses`` are the worst
    of the ``excess_count`` places above one, which last ``excess_time`` in all. ``refused`` are the
    moves and temperatures that the firmware stops the print at, ``slowed`` the moves of filament
    alone that it slows. ``caps`` is there where caps were asked for,
    ``own_time`` where the slicer states one. ``nozzle_temperature`` is the
    highest that the print sets, in ``temperature_line``, ``last_temperature`` the last above 0.
    """

    lines: int
    bytes: int
    moves: int
    time: float
    extruding_time: float
    travel_time: float
    extrude_only_time: float
    pause_time: float
    volume: float
    filament_length: float
    path_length: float
    peak: Peak
    sustained: Peak | None
    melt_volume: float
    capacity: float | None
    skip: float | None
    over_time: float
    over_volume: float
    skip_time: float
    skip_volume: float
    features: tuple[FeatureDemand, ...]
    layers: tuple[LayerDemand, ...]
    tools: tuple[ToolDemand, ...]
    worst: tuple[PrintPlace, ...]
    extruder_peak_speed: Peak
    extruder_peak_accel: Peak
    retract_peak_speed: Peak
    max_accel: float
    nozzle_temperature: float | None
    last_temperature: float | None
    temperature_line: int
    series: tuple[SeriesPoint, ...]
    stated: Mapping[str, Stated]
    notes: tuple[Note, ...]
    windows: tuple[WindowDemand, ...] = ()
    excesses: tuple[Excess, ...] = ()
    excess_count: int = 0
    excess_time: float = 0.0
    refused: tuple[Refused, ...] = ()
    slowed: tuple[Slowed, ...] = ()
    caps: CapTimes | None = None
    own_time: OwnTime | None = None

    @property
    def share_of_time_above_any_limit(self) -> float:
        """Extruding time above a limit over all extruding time."""
        return self.excess_time / self.extruding_time if self.extruding_time else 0.0

    @property
    def share_of_time_above_capacity(self) -> float:
        """Time above the capacity over the time of the print."""
        return self.over_time / self.time if self.time else 0.0

    @property
    def share_of_volume_above_capacity(self) -> float:
        """Volume extruded above the capacity over all volume."""
        return self.over_volume / self.volume if self.volume else 0.0

    @property
    def share_of_time_above_skip(self) -> float:
        """Time above the skip flow over the time of the print."""
        return self.skip_time / self.time if self.time else 0.0

    @property
    def share_of_volume_above_skip(self) -> float:
        """Volume extruded above the skip flow over all volume."""
        return self.skip_volume / self.volume if self.volume else 0.0
