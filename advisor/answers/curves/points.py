"""The speeds a motor is run at, and the torque it needs and has at each.

A point is a motor speed, a push on the filament and an acceleration of it. Its need is the torque
behind the push plus the torque that speeds up rotor and gears, so that it can be set against the
usable share of the pull-out torque, less detent.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TypedDict

import numpy as np

from advisor.answers.curve_records import LEVEL, OperatingPoint
from advisor.answers.curves.force import needed_force
from advisor.answers.curves.samples import Array, arguments, band, column, nominal
from advisor.base import Band, Quantity, frozen
from advisor.machine import HOTEND_INPUTS, MOTOR_INPUTS, FactBook
from advisor.physics import drive, motor

__all__ = [
    "NEEDED_FACTS",
    "Flows",
    "Point",
    "Torques",
    "available",
    "made_of",
    "operating_points",
    "points_of",
    "torques",
]

_WINDING = {
    name: MOTOR_INPUTS[name]
    for name in (
        "current_rms", "torque_constant", "resistance", "inductance", "pole_pairs", "voltage",
    )
}  # fmt: skip
_TRAIN = {
    "travel": "drive.travel_per_motor_turn",
    "efficiency": "drive.gear_efficiency",
    "ratio": "drive.gear_ratio?",
    "motor_inertia": "motor.rotor_inertia",
    "gear_inertia": "drive.gear_inertia",
}
_BUDGET = {"detent": "motor.detent_torque", "share": "motor.usable_share"}
_ADVANCE = "advance"
_SPEEDS = {"corner": "motor.corner_speed"}
NEEDED_FACTS = {**_WINDING, **_TRAIN, **_BUDGET, **_SPEEDS}
_MOVES = {  # speed, push (of pressure advance none: it hangs on the flow) and acceleration
    _ADVANCE: ("motion.advance_motor_speed", "", "motion.advance_acceleration"),
    "retract": ("motion.retract_motor_speed", "motion.retract_load",
                "motion.max_extrude_only_accel"),
    "profile-retract": ("profile.retract_motor_speed", "motion.retract_load",
                        "motion.max_extrude_only_accel"),
    "extrude-only": ("motion.extrude_only_motor_speed", "motion.extrude_only_load",
                     "motion.max_extrude_only_accel"),
}  # fmt: skip
_FLOWS = {
    "capacity": "flow.capacity",
    "asked": "demand.asked_push",
    "print-peak": "demand.print_peak",
}
_FEED = ("filament.area", "drive.travel_per_motor_turn", "flow.melt")
_POINT_FACTS = frozenset(
    name.removesuffix("?")
    for names in (_FEED, HOTEND_INPUTS.values(), NEEDED_FACTS.values(), *_MOVES.values())
    for name in names
    if name
) | {"motion.pressure_advance"}


@frozen(eq=False)
class Point:
    """A speed the motor is run at; all arrays have shape (size, 1).

    ``speed`` is the motor's, [1/s]; ``push`` the force on the filament, [N]; ``acceleration`` the
    filament's, [m/s2]. ``asked``: the machine is told to do it, it is no mere limit; ``reached``:
    it turns so fast, whether or not the torque there is judged.
    """

    name: str
    title: str
    speed: Array
    push: Array
    acceleration: Quantity = 0.0
    asked: bool = True

    @property
    def reached(self) -> bool:
        """Whether the motor reaches this speed: pressure advance does, whatever flow it has."""
        return self.asked or self.name == _ADVANCE


@frozen(eq=False)
class Torques:
    """What a point needs and what the motor has there, shape (size, 1), [N m] and [-]."""

    needed: Array
    usable: Array
    skip: Array
    left: Array
    speed_share: Array


class Flows(TypedDict):
    """Flows to look at in place of a machine's own: arguments of `points_of`, [m3/s]."""

    capacity: Quantity | None
    asked: Quantity | None


def points_of(
    book: FactBook, *, capacity: Quantity | None = None, asked: Quantity | None = None
) -> tuple[Point, ...]:
    """Return the operating points that the facts of an extruder tell of.

    Where a flow is asked, that is what the machine is told to do; else its capacity is. Pressure
    advance on top of a capacity that the torque sets is always beyond the usable torque, which
    says nothing; so without an ask it counts only where its speed is past the corner speed.

    Parameters
    ----------
    book : FactBook
        The extruder's facts.
    capacity, asked : array, optional
        Flows to look at in place of the extruder's own, over the ensemble, [m3/s]

    Returns
    -------
    tuple of Point
        The feeds first; empty where the gears are not known.
    """
    if book.samples("drive.travel_per_motor_turn") is None:
        return ()
    flows = {
        name: book.samples(fact) if given is None else given
        for (name, fact), given in zip(_FLOWS.items(), (capacity, asked, None), strict=True)
    }
    return (*_feeds(book, flows), *_moves(book, flows))


def made_of(**flows: Quantity | None) -> frozenset[str]:
    """Return the facts that points and their torques are made of, at flows given to `points_of`."""
    return _POINT_FACTS | {fact for name, fact in _FLOWS.items() if flows.get(name) is None}


def available(book: FactBook, speeds: Array) -> tuple[Array, Array]:
    """Return usable torque and the torque at which steps are lost, at motor speeds.

    Parameters
    ----------
    book : FactBook
        The extruder's facts; those of `NEEDED_FACTS` are known.
    speeds : array
        Motor speeds of shape (1, places) or (size, places), [1/s]

    Returns
    -------
    tuple of arrays
        Usable torque and pull-out torque less detent, shape (size, places), [N m]
    """
    winding, _ = arguments(book, _WINDING)
    return _usable(book, motor.pull_out_torque(speeds, **winding))


def _usable(book: FactBook, pull_out: Quantity) -> tuple[Array, Array]:
    budget, _ = arguments(book, _BUDGET)
    skip: Array = np.maximum(pull_out - budget["detent"], 0.0)
    return budget["share"] * skip, skip


def torques(book: FactBook, point: Point) -> Torques:
    """Return what a point needs and has; the facts of `NEEDED_FACTS` are known."""
    winding, _ = arguments(book, _WINDING)
    train, _ = arguments(book, _TRAIN)
    travel = train.pop("travel")
    ratio = train.pop("ratio", np.ones_like(travel))
    train |= {"gear_ratio": ratio, "rotation_distance": travel * ratio}
    pull_out = motor.pull_out_torque(point.speed, **winding)
    usable, skip = _usable(book, pull_out)
    inertia = {name: train.pop(name) for name in ("motor_inertia", "gear_inertia")}
    push = drive.torque_for_force(point.push, **train)
    effort = drive.acceleration_torque(point.acceleration, **inertia, **train)
    still = motor.pull_out_torque(np.zeros((1, 1)), **winding)
    corner = column(book, book.samples("motor.corner_speed"))
    return Torques(
        needed=np.asarray(push + effort),
        usable=usable,
        skip=skip,
        left=pull_out / np.maximum(still, 1e-12),
        speed_share=np.minimum(point.speed / np.maximum(corner, 1e-9), _FAR_PAST_CORNER),
    )


_FAR_PAST_CORNER = 100.0  # a share of the corner speed beyond which more says no more


def operating_points(book: FactBook, points: tuple[Point, ...]) -> tuple[OperatingPoint, ...]:
    """Return points with their torques in trade units."""
    travel = column(book, book.samples("drive.travel_per_motor_turn"))
    return tuple(_in_trade(point, torques(book, point), travel) for point in points)


def _in_trade(point: Point, found: Torques, travel: Array) -> OperatingPoint:
    def of(values: Array, unit: str) -> Band:
        return band(np.broadcast_to(values, travel.shape)[:, 0], unit)

    return OperatingPoint(
        name=point.name,
        title=point.title,
        motor_speed=of(point.speed, "1/s"),
        filament_speed=of(point.speed * travel, "mm/s"),
        needed=of(found.needed, "mN m"),
        usable=of(found.usable, "mN m"),
        skip=of(found.skip, "mN m"),
        asked=point.asked,
        left=of(found.left, "-"),
        speed_share=of(found.speed_share, "-"),
        too_much=float(np.mean(found.needed > found.usable * LEVEL)),
        skips=float(np.mean(found.needed > found.skip * LEVEL)),
    )


_TITLES = {
    "capacity": "feed at the capacity",
    "asked": "feed at the requested flow",
    "print-peak": "print peak, as if it lasted",
}


def _feeds(book: FactBook, flows: Mapping[str, Quantity | None]) -> Iterator[Point]:
    told = "capacity" if flows["asked"] is None else "asked"
    for name, title in _TITLES.items():
        speed = _speed_of(book, flows[name])
        if speed is not None:
            push = needed_force(book, column(book, flows[name]))
            yield Point(name, title, speed, push, asked=name == told)


def _speed_of(book: FactBook, flow: Quantity | None) -> Array | None:
    known = book.each(_FEED)
    if flow is None or known is None or not np.all(np.isfinite(flow)):
        return None
    area, travel, _ = known
    return column(book, flow) / column(book, area) / column(book, travel)


def _moves(book: FactBook, flows: Mapping[str, Quantity | None]) -> Iterator[Point]:
    rows = (
        (_ADVANCE, "pressure-advance peak", flows["asked"] is not None or _past_corner(book)),
        ("retract", "firmware retract", True),
        ("profile-retract", "retract by the profile", True),
        ("extrude-only", "limits of extrude-only moves", False),
    )
    for name, title, asked in rows:
        speed, push, acceleration = _MOVES[name]
        values = [book.samples(fact) for fact in (speed, acceleration)]
        force = _advance_push(book, flows) if not push else book.samples(push)
        if force is None or any(value is None for value in values):
            continue
        if name == _ADVANCE and not np.any(np.asarray(book.samples("motion.pressure_advance"))):
            continue
        turning, rate = (column(book, value) for value in values)
        yield Point(name, title, turning, column(book, force), rate, asked)


def _past_corner(book: FactBook) -> bool:
    peak, corner = nominal(book, "motion.advance_motor_speed"), nominal(book, "motor.corner_speed")
    return peak is not None and corner is not None and peak > corner


def _advance_push(book: FactBook, flows: Mapping[str, Quantity | None]) -> Array | None:
    """Push at the flow that pressure advance leads up to: what is asked, at most the capacity."""
    capacity, asked = flows["capacity"], flows["asked"]
    if capacity is None:
        return None
    flow = capacity if asked is None else np.minimum(asked, capacity)
    return needed_force(book, column(book, flow))[:, 0] if np.all(np.isfinite(flow)) else None
