"""What `compare` and `mend` answer: other builds of a machine, and edits, as frozen records."""

from __future__ import annotations

from advisor.base import Band, FileStatus, Finding, LimitBand, Span, Weighed, frozen

__all__ = [
    "ByHand",
    "CapacityChange",
    "CompareReport",
    "Edit",
    "LeverAnswer",
    "MendReport",
    "TargetReport",
    "Variant",
]


@frozen(kw_only=True)
class Variant:
    """One machine beside others; flows in mm3/s, lengths in mm, speeds in mm/s of filament.

    ``better_share`` and ``worse_share`` are the shares of likely machines in which its capacity
    is above and below that of the first variant; the rest is level. None for the first one.
    """

    number: int  # from 1, as given
    name: str
    capacity: Band | None
    bottleneck: str | None
    bottleneck_share: float | None
    skip: Band | None
    case_temperature: Band | None  # degC
    run_current: Band | None  # A RMS, as the driver applies it
    derated_current: Band | None  # A RMS
    above_derated: bool | None
    motor_mass: Band | None  # g
    microstep: Band | None  # mm of filament per microstep
    lag: Band | None  # mm the feed trails the command at the capacity
    retract_trusted: Band | None  # at the trusted share of the corner speed, within the torque
    retract_torque: Band | None  # highest speed at which the torque moves a retract
    skip_push: Band | None  # N: push at which the motor skips, at the speed of the capacity
    slip_push: Band | None  # N: push at which the filament slips in the gears
    advance_peak: Band | None  # filament speed with pressure advance; None where none is set
    advance_speed_share: Band | None  # of the motor's corner speed, there
    advance_inside: bool | None  # trusted speed and, where a flow is asked, usable torque
    better_share: float | None
    worse_share: float | None
    delivers_asked: float | None = None  # share of likely machines that deliver what is asked
    narrower: float | None = None  # part of the capacity's band that weighed tests took away
    notes: tuple[str, ...] = ()
    limits: tuple[LimitBand, ...] = ()
    short: str = ""  # its name in a table, beside the others'


@frozen(kw_only=True)
class LeverAnswer:
    """What changing one thing alone would do for a target; values in the trade unit `unit`."""

    fact: str
    title: str
    unit: str
    now: float | None
    assumed: bool  # nobody states what it is now
    to: float | None  # the nearest value that reaches the target; None where none does
    capacity: Band | None  # at `to`, else the best within the limit
    bottleneck: str | None
    sure: float | None  # share of likely machines that reach the target at `to`
    one_step_less: float | None  # nominal capacity one step nearer to what it is now
    one_step_less_sure: float | None  # share of likely machines that reach the target there
    best: float | None  # the value within the limits with the largest nominal capacity; or,
    # where the typical machine reaches the target but not enough do, that with which most do
    limit: float | None  # how far the search went towards more
    limited_by: str
    change: float | None  # relative to what it is now
    note: str = ""


@frozen(kw_only=True)
class TargetReport:
    """Which change of one thing reaches a target flow in mm3/s, the smallest change first.

    ``wanted``: the share of likely machines that are to reach it beside the typical one; None
    where the typical one alone is to.
    """

    target: float
    capacity: Band | None
    reached: bool | None  # without any change
    wanted: float | None = None
    sure: float | None = None  # share of likely machines that reach it without any change
    levers: tuple[LeverAnswer, ...] = ()
    bottleneck: str | None = None  # without any change
    lowered_to: float | None = None  # A RMS: the run current was above what the motor bears


@frozen(kw_only=True)
class CompareReport:
    """Answer of `compare`: variants in the order to show, and the target if one was set."""

    extruder: str | None
    variants: tuple[Variant, ...]
    left_out: int = 0  # by --limit
    varied: tuple[str, ...] = ()  # what the variations set, in the order of the short names
    target: TargetReport | None = None
    asked: Band | None = None  # mm3/s
    weighed: Weighed | None = None  # of the first variant
    lacking: tuple[str, ...] = ()
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
    draws: int | None = None  # likely machines behind the bands; None: as many as usual


@frozen
class Edit:
    """One change of one setting, as it comes out in the end.

    ``at`` is the value (a new line: the section's header) in the file as it is now. ``cured``
    are rules that are silent afterwards, ``eased`` those that still tell something, of a value
    that is right by its nominal figures.
    """

    at: Span
    role: str  # config | profile
    section: str | None
    setting: str
    old: str | None  # None: a new line
    new: str
    extruder: str | None
    findings: tuple[Finding, ...]  # that asked for it; one of each rule, the first one first
    cured: tuple[str, ...] = ()
    eased: tuple[str, ...] = ()
    basis: str | None = None  # what the new value is, in words
    basis_fact: str | None = None  # the fact it is, to be explained
    words: tuple[str, ...] = ()  # on the place: why it counts there, what to mind
    written: bool = False


@frozen
class ByHand:
    """A change that a person has to make, and why it is no edit."""

    finding: Finding
    reason: str


@frozen
class CapacityChange:
    """The flow an extruder can be counted on for, in mm3/s, without and with the edits."""

    extruder: str
    before: Band | None
    after: Band | None
    bottleneck: str | None  # with the edits


@frozen
class MendReport:
    """Answer of `mend`: the edits, what they leave, and what was written.

    ``patch`` is the diff of what is proposed or, after writing, of what was written.
    """

    config: str
    edits: tuple[Edit, ...] = ()
    by_hand: tuple[ByHand, ...] = ()
    left: tuple[Finding, ...] = ()  # findings that no edit cures
    brought: tuple[Finding, ...] = ()  # those among them that come with the edits
    capacity: tuple[CapacityChange, ...] = ()
    patch: bytes = b""
    patch_folder: str = "."  # where `patch -p1` takes it
    notes: tuple[str, ...] = ()  # sentences on files: links, other names, owners
    written: tuple[str, ...] = ()
    backups: tuple[str, ...] = ()
    undone: bool = False  # files were put back
    allowed: int = 0  # findings that the owner allows
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
