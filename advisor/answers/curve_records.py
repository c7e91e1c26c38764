"""Curves, operating points, motors that would serve and grip, as frozen records.

It computes nothing. Numbers are in trade units: torque in mN m, force in N, flow in mm3/s, motor
speed in turns per second, filament speed in mm/s, pressure in MPa. A band is the nominal value
with the 5th and 95th percentile over all likely machines.
"""

from __future__ import annotations

from advisor.base import Band, FileStatus, Weighed, frozen

__all__ = [
    "LEVEL",
    "BandLine",
    "ForceReport",
    "GripReport",
    "GripRow",
    "MotorNeed",
    "MotorRow",
    "OperatingPoint",
    "TorqueReport",
]


LEVEL = 1.01
"""A need within a hundredth of what there is is level with it: it is neither short nor to spare."""


@frozen(kw_only=True)
class BandLine:
    """A quantity along an axis; the three have the length of the axis."""

    value: tuple[float, ...]
    low: tuple[float, ...]
    high: tuple[float, ...]


@frozen(kw_only=True)
class OperatingPoint:
    """A speed the motor is run at, what it needs there and what it has; torque in mN m.

    ``needed`` counts the push through the gears and the speeding-up; ``skip`` is pull-out torque
    less detent, ``usable`` the share of it that may be planned with, so that needed above usable is
    too much and needed above skip loses steps.
    """

    name: str  # capacity | asked | print-peak | advance | retract | profile-retract | extrude-only
    title: str
    motor_speed: Band  # 1/s
    filament_speed: Band  # mm/s
    needed: Band
    usable: Band
    skip: Band
    asked: bool  # the machine is told to do it; a limit or a passing peak is not
    left: Band  # pull-out torque at this speed over that at standstill
    speed_share: Band  # motor speed over corner speed
    too_much: float  # share of likely machines in which needed is above usable
    skips: float  # share of likely machines in which needed is above skip


@frozen(kw_only=True)
class MotorNeed:
    """What a motor must have to serve every operating point at one supply voltage.

    Both figures hold for ``rated_current`` and the share of it that is used: holding torque from
    the points' torque, inductance from the speed of the fastest point. None where none serves.
    """

    voltage: float  # V
    rated_current: float  # A, the datasheet's figure as it stands
    working_current: float  # A RMS
    resistance: float  # ohm
    holding_torque: Band | None  # mN m, at least
    inductance: Band | None  # mH, at most
    governed_by: str | None  # the operating point that asks the most torque
    fastest: str | None  # the operating point with the highest speed
    why_none: str | None = None


@frozen(kw_only=True)
class MotorRow:
    """How one motor class would serve, at its own derated current and one supply voltage."""

    motor: str
    title: str
    voltage: float  # V
    working_current: Band | None  # A RMS
    margin: Band | None  # smallest usable over needed torque of all operating points
    governed_by: str | None
    speed_share: Band | None  # fastest operating point over corner speed
    left: Band | None  # torque left at the fastest point, share of standstill
    mass: Band | None  # g
    serves: bool | None
    sure: float | None  # share of likely machines in which it serves
    present: bool = False  # the class of the motor that is there, with what the sheet states of it
    why_none: str | None = None  # where nothing is known of it


@frozen(kw_only=True)
class TorqueReport:
    """Torque against speed, available and needed, of one extruder."""

    extruder: str | None
    speeds: tuple[float, ...] = ()  # 1/s of the motor
    filament_speeds: tuple[float, ...] = ()  # mm/s, nominal
    skip: BandLine | None = None
    usable: BandLine | None = None
    needed: BandLine | None = None  # steady feed, of the first `needed_count` speeds
    needed_count: int = 0
    corner_speed: Band | None = None  # 1/s
    trusted_share: float | None = None  # of the corner speed, up to which the model is trusted
    limit_share: float | None = None  # beyond which it is not believed at all
    points: tuple[OperatingPoint, ...] = ()
    needs: tuple[MotorNeed, ...] = ()
    motors: tuple[MotorRow, ...] = ()
    remarks: tuple[str, ...] = ()
    enough: bool | None = None  # nothing asked needs more than the usable torque, nominally
    assumed: tuple[str, ...] = ()  # titles of what nobody stated
    lacking: tuple[str, ...] = ()  # sentences: what is not known and why
    cautions: tuple[str, ...] = ()
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
    weighed: Weighed | None = None


@frozen(kw_only=True)
class ForceReport:
    """Force against flow of one extruder: what the hotend asks, what each part can give, in N."""

    extruder: str | None
    flows: tuple[float, ...] = ()  # mm3/s
    needed: BandLine | None = None
    usable: BandLine | None = None  # motor, usable share
    stall: BandLine | None = None  # motor, all of it
    grip_usable: Band | None = None
    grip: Band | None = None
    buckling: Band | None = None  # push at the gears at which the free filament folds
    melt: Band | None = None  # mm3/s
    heater: Band | None = None  # mm3/s
    capacity: Band | None = None  # mm3/s
    asked: Band | None = None  # mm3/s
    bottleneck: str | None = None
    lacking: tuple[str, ...] = ()


@frozen(kw_only=True)
class GripRow:
    """One material in gears of one size: how near to marking and grinding the filament is.

    ``share`` is the shear stress in the engaged teeth over the filament's shear strength: above
    ``usable_share`` of the report (`LEVEL` counts as equal) delivery falls, from 1 on the filament
    is ground.
    """

    material: str
    gears: str  # a drive class, or "as it is"
    gear_diameter: float  # mm
    driven_gears: Band
    present: bool  # the machine as it is
    engaged_area: Band  # mm2, all driven gears together
    teeth_engaged: Band | None  # per gear
    grip: Band  # N, at which the filament is lost
    usable: Band  # N, at which delivery begins to fall
    pressure: Band  # MPa, push over engaged area
    yield_strength: Band  # MPa
    share: Band  # shear stress over shear strength
    marks: float  # share of likely machines in which delivery falls at this push
    grinds: float  # share of likely machines in which the filament is lost
    grip_flow: Band | None  # mm3/s: where delivery begins to fall with this material


@frozen(kw_only=True)
class GripReport:
    """Pressure of the gears on the filament, per material and gear size."""

    extruder: str | None
    flow: Band | None = None  # mm3/s at which the push is looked at
    flow_is: str = ""  # what that flow is, in words
    push: Band | None = None  # N, what the present filament needs there
    usable_share: float | None = None
    rows: tuple[GripRow, ...] = ()
    remarks: tuple[str, ...] = ()
    assumed: tuple[str, ...] = ()
    lacking: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
    weighed: Weighed | None = None
