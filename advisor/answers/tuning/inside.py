"""What keeps the motor inside its torque and its trusted speed: acceleration and retracts.

Inside means for the typical machine that what is needed lies within the usable torque, and that
the motor turns no faster than the share of its corner speed up to which torque is trusted. The
largest value is looked for by halving, in the steps in which people set it: it is inside, and one
step more is not. Pressure advance itself is measured by a print; no limit of it is told here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from advisor.answers.curves.force import needed_force
from advisor.answers.curves.points import NEEDED_FACTS, Point, torques
from advisor.answers.curves.samples import arguments
from advisor.answers.tuning.bench_data import bench_numbers
from advisor.answers.tuning.lines import Lines, in_mm
from advisor.answers.tuning_records import AccelRow, AdvanceLimits, RetractLimits
from advisor.base import frozen, parse_unit
from advisor.machine import HOTEND_INPUTS, FactBook, Machine, swept
from advisor.physics import drive, motion

__all__ = ["AtFlow", "advance_limits", "largest_steps", "retract_limits"]

Array = NDArray[np.float64]
Steps = NDArray[np.int64]
Held = tuple[NDArray[np.bool_], NDArray[np.bool_]]
"""Whether the torque is enough, and whether the speed is trusted."""

_TRUSTED, _ADVANCE, _ACCEL = (
    "model.speed_share_trusted",
    "motion.pressure_advance",
    "motion.max_accel",
)
_EXTRUDE_ACCEL, _LOAD = "motion.max_extrude_only_accel", "motion.retract_load"
_MM = 1e3
_NEEDED = {**NEEDED_FACTS, **HOTEND_INPUTS, "area": "filament.area", "most": "flow.capacity"}


@frozen(eq=False)
class AtFlow:
    """A machine at the flow that is set, [m3/s].

    ``case``: the class it stands for, where that decides and nobody states it.
    """

    case: str | None
    machine: Machine
    flow: float


def largest_steps(holds: Callable[[Steps], NDArray[np.bool_]], rows: int, most: int) -> Steps:
    """Return for each row the largest number of steps that holds, by halving.

    Parameters
    ----------
    holds : callable
        Whether a number of steps holds, a row each; what does not hold does not hold further up.
    rows : int
        How many.
    most : int
        The largest number that is looked at.

    Returns
    -------
    array of int
        From 0, which is not looked at, to `most`. One more does not hold, but for `most`.
    """
    low, high = np.zeros(rows, dtype=np.int64), np.full(rows, most + 1, dtype=np.int64)
    while np.any(high - low > 1):
        middle = (low + high) // 2
        held = holds(middle)
        low, high = np.where(held, middle, low), np.where(held, high, middle)
    return low


def advance_limits(
    machine: Machine, lines: Lines, places: Sequence[AtFlow]
) -> AdvanceLimits | None:
    """Return whether the set pressure advance keeps the motor inside, line by line.

    Parameters
    ----------
    machine : Machine
        The machine as it stands, which lint judges.
    lines : Lines
        Widths and heights.
    places : sequence of AtFlow
        The machine at the flow that is set, or each class of what decides.

    Returns
    -------
    AdvanceLimits or None
        None where the gears, motor, hotend, acceleration or advance are not known, or no advance
        is set.
    """
    rows: list[AccelRow] = []
    for place in places:
        alone = _alone(place.machine)
        if arguments(alone, _NEEDED)[1] or not alone.nominal(_ADVANCE) or not alone.known(_ACCEL):
            return None
        rows += _accel_rows(lines, place, alone)
    line = _line_row(machine, places) if rows else None
    if line is None:
        return None
    book = places[0].machine.book
    return AdvanceLimits(
        advance=book.nominal(_ADVANCE) or 0.0,
        acceleration=(book.nominal(_ACCEL) or 0.0) * _MM,
        trusted_share=book.nominal(_TRUSTED) or 0.0,
        step=bench_numbers("inside")["accel_step"] * _MM,
        inside=all(row.inside for row in rows),
        line=line,
        rows=tuple(rows),
    )


def _alone(machine: Machine) -> FactBook:
    return machine.keeping_classes().nominal().book


def _line_row(machine: Machine, places: Sequence[AtFlow]) -> AccelRow | None:
    """Return the line that lint reckons with, of the machine as it stands or its first case."""
    sizes = [machine.book.nominal(f"motion.line_{part}") for part in ("width", "height")]
    width, height = (size or 0.0 for size in sizes)
    if not width or not height:
        return None
    flow = min(place.flow for place in places)
    for place in (AtFlow(None, machine, flow), *places):
        alone = _alone(place.machine)
        if not arguments(alone, _NEEDED)[1]:
            return next(iter(_accel_rows(Lines((width,), (height,)), place, alone)))
    return None


def _accel_rows(lines: Lines, place: AtFlow, book: FactBook) -> Iterator[AccelRow]:
    sizes = list(lines.each())
    areas = np.array([area for _, _, area in sizes])
    step = bench_numbers("inside")["accel_step"]
    most = round(bench_numbers("inside")["accel_most"] / step)

    def at(accelerations: Array) -> Held:
        return _held(book, areas, accelerations, place.flow)

    def holds(steps: Steps) -> NDArray[np.bool_]:
        return np.logical_and(*at(np.asarray(step * steps, dtype=np.float64)))

    found = largest_steps(holds, len(sizes), most)
    enough, _ = at(np.asarray(step * (found + 1), dtype=np.float64))
    inside = np.logical_and(*at(np.full(len(sizes), book.nominal(_ACCEL))))
    for row, (width, height, _) in enumerate(sizes):
        count = int(found[row])
        yield AccelRow(
            case=place.case,
            width=in_mm(width),
            height=in_mm(height),
            acceleration=None if count == 0 else round(count * step * _MM, 6),
            limit=None if count == most else "speed" if enough[row] else "torque",
            inside=bool(inside[row]),
        )


def _held(book: FactBook, areas: Array, accelerations: Array, flow: float) -> Held:
    """Return whether a line of each section is inside at its acceleration, at one flow.

    The peak is that of `torque`: the feed of the flow that is set, at most the capacity, with the
    advance on top while the head accelerates. The speed is judged as lint's advice is, with the
    feed of the capacity, so that another flow that is set gives no other acceleration.
    """
    x = {name: float(values[0, 0]) for name, values in arguments(book, _NEEDED)[0].items()}
    flow = min(flow, x["most"])
    filament = motion.filament_acceleration(accelerations, bead_area=areas, filament_area=x["area"])

    def turns(fed: float) -> Array:
        peak = motion.advance_peak_speed(
            drive.filament_speed(fed, filament_area=x["area"]),
            pressure_advance=book.nominal(_ADVANCE) or 0.0,
            filament_acceleration=filament,
        )
        return np.asarray(peak)[None, :] / x["travel"]

    push = needed_force(book, np.array([[flow]]))
    told = torques(book, Point("advance", "", turns(flow), push, np.asarray(filament)[None, :]))
    trusted = turns(x["most"])[0] / x["corner"] <= (book.nominal(_TRUSTED) or 0.0)
    return told.needed[0] <= told.usable[0], trusted


@frozen
class _Retract:
    """The facts of a kind of retract."""

    name: str
    title: str
    speed: str
    reached: str
    share: str
    force: str


_RETRACTS = (
    _Retract("retract", "firmware retract", "motion.retract_speed", "motion.retract_peak_speed",
             "motion.retract_speed_share", "motion.retract_force"),
    _Retract("profile-retract", "retract by the profile", "profile.retract_speed",
             "profile.retract_speed", "profile.retract_speed_share", "profile.retract_force"),
)  # fmt: skip


def retract_limits(machine: Machine) -> tuple[RetractLimits, ...]:
    """Return each retract that is set, with the largest speed and acceleration that hold."""
    alone = machine.keeping_classes(()).nominal(())
    made = (_retract(one, machine, alone) for one in _RETRACTS)
    return tuple(one for one in made if one is not None)


def _retract(kind: _Retract, machine: Machine, alone: Machine) -> RetractLimits | None:
    book = machine.book
    needed = (kind.speed, kind.reached, kind.share, kind.force, _LOAD, _EXTRUDE_ACCEL, _TRUSTED)
    x = {name: book.nominal(name) for name in needed}
    known = {name: value for name, value in x.items() if value is not None}
    if len(known) < len(x) or book.nominal("motion.retract_length") == 0.0:
        return None
    trusted = known[_TRUSTED]
    at_set = {name: np.array([value]) for name, value in known.items()}
    enough, fast = (bool(held[0]) for held in _moves(kind, at_set, trusted))
    limit = None if enough and fast else "torque" if not enough else "speed"
    speeds = _solved(kind, alone, kind.speed, "speed", trusted)
    accelerations = _solved(kind, alone, _EXTRUDE_ACCEL, "accel", trusted)
    return RetractLimits(
        name=kind.name,
        title=kind.title,
        speed=known[kind.speed] * _MM,
        reached=known[kind.reached] * _MM,
        acceleration=known[_EXTRUDE_ACCEL] * _MM,
        inside=limit is None,
        limit=limit,
        largest_speed=speeds[0],
        speed_limit=speeds[1],
        largest_acceleration=accelerations[0],
        acceleration_limit=accelerations[1],
    )


def _moves(kind: _Retract, made: Mapping[str, Array], trusted: float) -> Held:
    return made[kind.force] >= made[_LOAD], made[kind.share] <= trusted


def _solved(
    kind: _Retract, alone: Machine, setting: str, what: str, trusted: float
) -> tuple[float | None, str | None]:
    """Return the largest value of a setting that holds, and what one step more exceeds."""
    numbers = bench_numbers("inside")
    step = numbers[f"{what}_step"]
    most = round(numbers[f"{what}_most"] / step)
    values = [step * (n + 1) for n in range(most)]
    made = swept(alone, setting, values, (kind.force, kind.share, _LOAD))
    enough, fast = (row[:, 0] for row in _moves(kind, made, trusted))
    out = np.flatnonzero(~(enough & fast))
    count = int(out[0]) if out.size else most
    limit = None if not out.size else "torque" if not enough[count] else "speed"
    unit = parse_unit(alone.book.units[setting])
    return (round(float(unit.from_si(step * count)), 6) if count else None), limit
