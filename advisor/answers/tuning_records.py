"""The page for a session at the machine, as frozen records; it computes nothing.

Numbers are in trade units: speeds in mm/s, accelerations in mm/s2, flows in mm3/s, lengths in mm,
currents in A RMS, temperatures in degC.
"""

from __future__ import annotations

from advisor.base import Band, Case, FileStatus, NextStep, Weighed, frozen

__all__ = [
    "AccelRow",
    "AdvanceLimits",
    "CapRow",
    "RetractLimits",
    "SessionCurrent",
    "SessionReport",
    "SessionStep",
    "SpeedCeiling",
]


@frozen(kw_only=True)
class SpeedCeiling:
    """The largest head speed of a line in mm/s, at the cap to set and at the typical capacity.

    ``case``: the class of hotend it holds for, where that decides and nobody states it.
    """

    case: str | None
    width: float  # mm
    height: float  # mm
    cap: float | None  # whole mm/s, rounded down; None where there is no cap
    typical: float


@frozen(kw_only=True)
class CapRow:
    """The flow to set with a material at a temperature, in mm3/s; None outside of its range.

    ``cautious`` and ``typical``: cap and typical capacity without any test; ``weighed`` the cap
    with the tests that were given.
    """

    material: str
    title: str
    temperature: float  # degC
    present: bool  # the machine's own material and temperature
    in_range: bool  # of the material's usual nozzle temperatures
    cautious: float | None
    typical: float | None
    weighed: float | None


@frozen(kw_only=True)
class AccelRow:
    """The largest acceleration in mm/s2 at which advance keeps the motor inside, for a line.

    ``limit``: what one step more exceeds, ``torque`` or ``speed``; None where nothing is exceeded
    up to the largest that is looked for. ``acceleration`` None: not even at the smallest step.
    """

    case: str | None
    width: float  # mm
    height: float  # mm
    acceleration: float | None
    limit: str | None
    inside: bool  # at the acceleration that is set


@frozen(kw_only=True)
class AdvanceLimits:
    """Whether the set pressure advance keeps the motor in its torque and trusted speed."""

    advance: float  # s
    acceleration: float  # mm/s2, as set
    trusted_share: float  # of the corner speed
    step: float  # mm/s2
    inside: bool  # for all lines
    line: AccelRow  # the one that lint's advice is for
    rows: tuple[AccelRow, ...]


@frozen(kw_only=True)
class RetractLimits:
    """A retract as set, and the largest speed and acceleration that keep the motor inside."""

    name: str  # retract | profile-retract
    title: str
    speed: float  # mm/s, as set
    reached: float  # mm/s
    acceleration: float  # mm/s2, of moves of filament alone, as set
    inside: bool
    limit: str | None  # what the set values exceed
    largest_speed: float | None  # at the set acceleration; None: not even the smallest step
    speed_limit: str | None  # what one step more exceeds; None: nothing
    largest_acceleration: float | None  # at the set speed
    acceleration_limit: str | None


@frozen(kw_only=True)
class SessionCurrent:
    """Run and hold current in A RMS, and the case temperature in degC to expect at `at`."""

    set_now: float | None
    applied: Band | None  # of what is set, after the driver's rounding
    hold: float | None  # None: as the run current
    most: float | None  # the largest to set
    limited_by: str | None
    too_high: bool
    silent_gives: float | None  # what flows in silent mode at least, where it is above the largest
    at: float | None  # the set current, or the largest where more is set
    case_soon: Band | None  # after 10 min
    case_later: Band | None  # after an hour
    stop: float | None  # after 10 min


@frozen
class SessionStep:
    """One step of the session: what to do, what to see, when to stop."""

    number: int
    name: str
    do: str
    expect: str
    stop: str


@frozen(kw_only=True)
class SessionReport:
    """Answer of `session`: the page for a session at the machine."""

    extruder: str | None
    config: str = ""
    material: str | None = None
    temperature: float | None = None  # degC
    nozzle: float | None = None  # mm
    flow_ratio: float | None = None  # the profile's, in the ceilings
    cap: float | None = None  # mm3/s
    no_cap: str | None = None
    capacity: Band | None = None
    bottleneck: str | None = None
    skip: Band | None = None
    slip: Band | None = None
    cases: tuple[Case, ...] = ()  # where the hotend's class decides and nobody states it
    first: tuple[str, ...] = ()  # sentences: what has to be changed before the session
    ceilings: tuple[SpeedCeiling, ...] = ()
    caps: tuple[CapRow, ...] = ()
    advance: AdvanceLimits | None = None
    no_advance: str | None = None  # why nothing is told of it
    retracts: tuple[RetractLimits, ...] = ()
    current: SessionCurrent | None = None
    steps: tuple[SessionStep, ...] = ()
    plan: NextStep | None = None  # the command of the weighed test
    next: NextStep | None = None  # what to state first, where a class decides
    cautions: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    lacking: tuple[str, ...] = ()
    weighed: Weighed | None = None
    draws: int | None = None
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()

    @property
    def stuck(self) -> bool:
        """Whether nothing gets through, with any class of what decides: there is no cap to set."""
        known = self.capacity is not None and self.cap is None
        return known and all(case.set_to is None for case in self.cases)

    @property
    def inside(self) -> bool:
        """Whether the session can begin: nothing to change first, advance and retracts inside."""
        moves = all(one.inside for one in self.retracts)
        begins = not self.first and not self.stuck
        return begins and moves and (self.advance is None or self.advance.inside)
