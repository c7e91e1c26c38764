"""The figures of one machine beside others: flow, heat, resolution, lag, retracts, push."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from advisor.answers.build_records import Variant
from advisor.answers.builds.machine import Build
from advisor.answers.curves.force import motor_forces
from advisor.answers.curves.points import NEEDED_FACTS, points_of, torques
from advisor.answers.curves.samples import arguments, column
from advisor.base import LIMITS, Band, Fact, Quantity, State, value_of
from advisor.machine import (
    HOTEND_INPUTS,
    MOTOR_INPUTS,
    RETRACT_PUSH,
    FactBook,
    Machine,
    band_of,
    bottleneck,
    exceeded,
    plausible,
)
from advisor.physics import drive

__all__ = [
    "ADVANCE",
    "FIGURES",
    "SKIP_PUSH",
    "advance_inside",
    "has_advance",
    "skip_push",
    "variant",
]

ADVANCE = ("motion.advance_peak_speed", "motion.advance_speed_share")
"""The facts of the last stages that tell of a pressure-advance peak."""
_Names: TypeAlias = "tuple[str, ...]"
SKIP_PUSH: _Names = ("flow.capacity", "motor.usable_share", *MOTOR_INPUTS.values())
_TRUSTED_SHARE, _SHARE = "model.speed_share_trusted", "motion.advance_speed_share"
_NEEDED = {**NEEDED_FACTS, **HOTEND_INPUTS}
_LEVEL = 1e-3  # capacities within this share of each other are level
_HALVINGS = 14  # to 1/16000 of the way, finer than the three digits shown
_LAG = (
    "force.at_capacity", "drive.gear_efficiency", "drive.travel_per_motor_turn",
    "motor.detent_torque", "motor.standstill_torque", "motor.pole_pairs",
)  # fmt: skip
_CORNER = ("motor.corner_speed", "drive.travel_per_motor_turn")
_TRUSTED = ("model.speed_share_trusted", *_CORNER)
_RETRACT = (
    "motion.retract_load", "model.speed_share_limit", *_CORNER, *RETRACT_PUSH.inputs.values(),
)  # fmt: skip
FIGURES = (
    *(f"flow.{limit}" for limit in LIMITS), "flow.capacity", "demand.asked_flow",
    "motor.corner_speed", "motion.retract_load", "force.grip", *ADVANCE, *_LAG,
    *(name.removesuffix("?") for name in RETRACT_PUSH.inputs.values()),
)  # fmt: skip
"""The facts of the last stages that the figures are made of."""


def skip_push(book: FactBook) -> Quantity | None:
    """Return the push at which the motor skips while it feeds at the capacity.

    All of the pull-out torque at that speed, less detent, through the gears: the push that the
    flow `flow.skip` asks is that of a higher speed, `force.stall` that at a crawl.

    Returns
    -------
    array or None
        Over the ensemble, [N]; None where motor, gears or capacity are not known.
    """
    if book.each(SKIP_PUSH) is None:
        return None
    flow = column(book, book.samples("flow.capacity"))
    if not np.all(np.isfinite(flow)):
        return None
    stall: Quantity = motor_forces(book, flow)[1][:, 0]
    return stall


def has_advance(book: FactBook) -> bool:
    """Whether a pressure advance is set: without one its peak is the plain feed."""
    return bool(book.nominal("motion.pressure_advance"))


def advance_inside(book: FactBook) -> bool | None:
    """Whether the typical motor is inside what it is trusted with in a pressure-advance peak.

    Its speed is, as `lint` tells it; and, where a flow is asked, what the peak needs lies within
    the usable torque. At a capacity that the torque sets there is none to spare, by definition,
    so without an ask the torque says nothing.

    Returns
    -------
    bool or None
        None where no advance is set, or the motor's speed in the peak is not known.
    """
    share, trusted = book.nominal(_SHARE), book.nominal(_TRUSTED_SHARE)
    if not has_advance(book) or share is None or trusted is None:
        return None
    if share > trusted:
        return False
    asked = book.samples("demand.asked_flow")
    if asked is None or arguments(book, _NEEDED)[1]:
        return True
    point = next((one for one in points_of(book, asked=asked) if one.name == "advance"), None)
    if point is None:
        return True
    found = torques(book, point)
    return bool(found.needed[0, 0] <= found.usable[0, 0])


_Samples: TypeAlias = NDArray[np.float64]
_Holds: TypeAlias = NDArray[np.bool_]
Maker: TypeAlias = "Callable[[FactBook], Quantity | None]"


def variant(number: int, build: Build, first: Build | None) -> Variant:
    """Return the figures of a machine, and how often it is better than the first one."""
    book = build.book
    limits = build.machine.limits()
    lowest, _ = bottleneck(limits)
    share = next((x.bottleneck_share for x in limits if x.limit == lowest), None)
    better, worse = _shares(book, first.book) if first is not None else (None, None)
    return Variant(
        number=number,
        name=build.name,
        capacity=_of(book, "flow.capacity"),
        bottleneck=lowest,
        bottleneck_share=share,
        skip=_of(book, "flow.skip"),
        case_temperature=_of(book, "motor.case_temperature"),
        run_current=_of(book, "motor.working_current"),
        derated_current=_of(book, "motor.derated_current"),
        above_derated=_above_derated(book),
        motor_mass=_of(book, "motor.mass"),
        microstep=_figure(book, "mm", _microstep, "drive.steps_per_mm"),
        lag=_figure(book, "mm", _lag, *_LAG),
        retract_trusted=_figure(book, "mm/s", _trusted_speed, *_TRUSTED, *_RETRACT),
        retract_torque=_figure(book, "mm/s", _fastest_retract, *_RETRACT),
        skip_push=_figure(book, "N", skip_push, *SKIP_PUSH),
        slip_push=_of(book, "force.grip"),
        advance_peak=_of(book, ADVANCE[0]) if has_advance(book) else None,
        advance_speed_share=_of(book, ADVANCE[1]) if has_advance(book) else None,
        advance_inside=advance_inside(book),
        better_share=better,
        worse_share=worse,
        delivers_asked=_delivers(book, book if first is None else first.book),
        narrower=_narrower(build.machine),
        notes=build.notes,
        limits=limits,
    )


def _shares(book: FactBook, first: FactBook) -> tuple[float | None, float | None]:
    """Return in which shares of the paired machines the capacity is larger, and smaller."""
    here, there = book.samples("flow.capacity"), first.samples("flow.capacity")
    if here is None or there is None:
        return None, None
    margin = np.asarray(there) * _LEVEL
    better, worse = np.asarray(here) > there + margin, np.asarray(here) < there - margin
    return float(np.mean(better)), float(np.mean(worse))


def _delivers(book: FactBook, first: FactBook) -> float | None:
    """Return the share that delivers what is asked of it, or else of the first machine."""
    asked, capacity = book.samples("demand.asked_flow"), book.samples("flow.capacity")
    asked = first.samples("demand.asked_flow") if asked is None else asked
    if asked is None or capacity is None:
        return None
    return float(np.mean(np.asarray(capacity) >= np.asarray(asked) * (1.0 - 1e-9)))


def _narrower(machine: Machine) -> float | None:
    """Return the part of the capacity's band that weighed tests took away; None without any."""
    if machine.bench is None:
        return None
    plain = machine.on(plausible(machine.ensemble.size), wanted=("flow.capacity",))
    before, after = (band_of(x.facts.get("flow.capacity")) for x in (plain, machine))
    if before is None or after is None or before.high <= before.low:
        return None
    part = 1.0 - (after.high - after.low) / (before.high - before.low)
    return part if np.isfinite(part) else None


def _above_derated(book: FactBook) -> bool | None:
    """Whether the current is above a limit as `lint` tells it: of a rating that is stated."""
    run, derated = (book.nominal(f"motor.{name}_current") for name in ("working", "derated"))
    if run is None or derated is None:
        return None
    return exceeded(book, floor=False) is not None


def _of(book: FactBook, name: str) -> Band | None:
    return band_of(book.facts.get(name))


def _figure(book: FactBook, unit: str, made: Maker, *uses: str) -> Band | None:
    """Return the band of what `made` gives; once for all machines that share what it `uses`."""
    parts = tuple(book.facts.get(name.removesuffix("?")) for name in uses)
    key = ("figure", made, *map(id, parts))
    fact = book.memory.once(key, parts, lambda: _fact(unit, made(book)))
    return band_of(fact)


def _fact(unit: str, samples: Quantity | None) -> Fact:
    state = State.MISSING if samples is None else State.KNOWN
    return Fact("", value_of(samples, unit), state)


def _microstep(book: FactBook) -> Quantity | None:
    steps = book.samples("drive.steps_per_mm")
    return None if steps is None else 1.0 / np.asarray(steps)


def _lag(book: FactBook) -> Quantity | None:
    """Length by which the feed trails the command while it pushes at the capacity."""
    values = book.each(_LAG)
    if values is None:
        return None
    force, efficiency, travel, detent, peak, pairs = values
    train = {"gear_ratio": 1.0, "rotation_distance": travel}
    load = detent + drive.torque_for_force(force, efficiency=efficiency, **train)
    angle = drive.lag_angle(load, peak_torque=peak)
    return drive.filament_lag(angle, pole_pairs=pairs, **train)


def _at_corner(book: FactBook, share: str) -> Quantity | None:
    """Filament speed at a share of the motor's corner speed."""
    values = book.each((share, *_CORNER))
    return None if values is None else values[0] * values[1] * values[2]


def _trusted_speed(book: FactBook) -> Quantity | None:
    """Speed up to which a retract can be trusted: no more than the torque moves it at."""
    trusted, fastest = _at_corner(book, "model.speed_share_trusted"), _fastest_retract(book)
    if trusted is None or fastest is None:
        return trusted
    least: Quantity = np.minimum(trusted, fastest)
    return least


def _fastest_retract(book: FactBook) -> Quantity | None:
    """Highest filament speed at which the usable torque still moves a retract.

    The torque falls with speed: where it is enough at the far end, that is the answer; the rest is
    halved to more digits than are shown. Beyond the share of the corner speed to which the model
    of the motor is believed at all, it is not looked for.
    """
    inputs = {
        argument: book.samples(name.removesuffix("?"))
        for argument, name in RETRACT_PUSH.inputs.items()
        if argument != "speed"
    }
    needed = [argument for argument, name in RETRACT_PUSH.inputs.items() if not name.endswith("?")]
    load, far = book.samples("motion.retract_load"), _at_corner(book, "model.speed_share_limit")
    if load is None or far is None:
        return None
    if any(inputs.get(name) is None for name in needed if name != "speed"):
        return None

    known = [load, far, *(x for x in inputs.values() if x is not None)]
    shape = np.broadcast_shapes(*map(np.shape, known))
    end = np.broadcast_to(np.asarray(far, dtype=np.float64), shape)
    reached = _moves(end, inputs, load)
    fastest = np.where(reached, end, 0.0)
    some = ~reached & _moves(np.zeros(shape), inputs, load)
    if some.any():  # they move a retract at rest, but not at the far end
        part = {
            name: None if values is None else _part(values, some) for name, values in inputs.items()
        }
        fastest[some] = _halved(end[some], part, _part(load, some))
    return fastest


def _moves(speed: _Samples, inputs: Mapping[str, Quantity | None], load: Quantity) -> _Holds:
    travel = inputs["travel"]
    assert travel is not None
    push = RETRACT_PUSH.function(speed=speed / travel, **inputs)
    assert push is not None  # all that it needs is there
    return np.broadcast_to(np.asarray(push >= load), np.shape(speed))


def _part(values: Quantity, some: _Holds) -> Quantity:
    return np.asarray(values)[some] if np.shape(values) == some.shape and np.ndim(some) else values


def _halved(high: _Samples, inputs: Mapping[str, Quantity | None], load: Quantity) -> _Samples:
    low = np.zeros_like(high)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        moves = _moves(middle, inputs, load)
        low, high = np.where(moves, middle, low), np.where(moves, high, middle)
    return low
