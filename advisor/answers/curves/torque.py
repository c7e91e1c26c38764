"""Torque against speed of an extruder's motor: what it has, what is needed, what would serve.

Motor classes are each looked at with the current they bear, at each supply voltage. What a motor
must have at all stands in `needs`; a class serves where it has that.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import TypedDict

import numpy as np

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.curve_records import LEVEL, BandLine, MotorRow, OperatingPoint, TorqueReport
from advisor.answers.curves.force import needed_force
from advisor.answers.curves.needs import flows_to_serve, motor_needs, remarks_on
from advisor.answers.curves.points import (
    NEEDED_FACTS,
    Flows,
    Point,
    available,
    made_of,
    operating_points,
    points_of,
    torques,
)
from advisor.answers.curves.samples import (
    Array,
    arguments,
    band,
    band_line,
    column,
    nominal,
    of_extruder,
)
from advisor.answers.flow_limit import NO_EXTRUDER, chosen_extruder
from advisor.answers.lint import check_config
from advisor.base import Band, Origin, OriginKind
from advisor.catalog import Catalog, load_catalog
from advisor.machine import (
    HOTEND_INPUTS,
    Change,
    FactBook,
    Machine,
    band_of,
    renewed,
    stated_classes,
)
from advisor.physics import drive

__all__ = ["PLACES", "motor_rows", "torque_answer", "torque_report", "voltages"]

_ORIGIN = Origin(OriginKind.COMMAND, setting="another motor")
_NO_CURRENT = (
    "no current is safe here: the mount, the filament or the ambient is too near its limit"
)
_NOT_KNOWN = "what it would need or have is not known"
_AMPLE = 100.0  # times what is needed: more says no more
PLACES = 81
_ROOM = 1.15  # of the axis beyond the fastest point
_FURTHEST = 2.0  # times the fastest point: how far the axis goes to show the corner speed
_ENDS = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)  # of an axis, times a power of ten
_CAUTIONS = (
    "Near and above the corner speed real motors give less: their datasheet's curve goes first.",
    "A motor at its derated current can still burn: let it cool before you touch it.",
    "Gears pull in fingers; change hardware with the machine off and unplugged.",
    (
        "Change the supply voltage only as far as driver, board, heater and fans are rated; leave "
        "mains wiring to licensed hands."
    ),
)


def voltages(catalog: Catalog) -> tuple[float, ...]:
    """Return the voltages of the catalogue's supplies, rising, [V]."""
    supplies = catalog.category("supplies").values()
    return tuple(sorted(entry.numbers["supply.voltage"].typical for entry in supplies))


def motor_rows(machine: Machine, flows: Flows) -> tuple[MotorRow, ...]:
    """Return how each motor class would serve at its own derated current and each voltage.

    The class that is there keeps what the sheet states of it; any other has the catalogue's
    numbers.

    Parameters
    ----------
    machine : Machine
        The machine; where it was weighed, the likely ones are those the tests left.
    flows : mapping
        The ``capacity`` and the ``asked`` flow to serve, as `points_of` takes them, [m3/s]
    """
    rows: list[MotorRow] = []
    for motor, entry in machine.catalog.category("motors").items():
        if motor == "unstated":
            continue
        present = motor == machine.book.text("motor.class")
        made = _with_motor(machine, motor, present=present)
        rows += (
            MotorRow(
                motor=motor,
                title=entry.title,
                voltage=voltage,
                present=present,
                **_served(made, voltage, flows),
            )
            for voltage in voltages(machine.catalog)
        )
    return tuple(rows)


def _with_motor(machine: Machine, motor: str, *, present: bool) -> Machine | None:
    """Return the machine with a motor class at the largest current it bears; None without any.

    All other classes stay what they are, the assumed ones too.
    """
    changes: dict[str, Change] = dict(stated_classes(machine.book))
    measured = dict(machine.inputs.measured)
    if not present:
        changes |= dict.fromkeys(renewed(machine.inputs, "motor.class"))
        measured = {k: v for k, v in measured.items() if k == "measured_flow"}
    changes["motor.class"] = motor
    made = machine.with_(changes, origin=_ORIGIN, measured=measured, wanted=())
    current = made.book.samples("motor.set_current")
    if current is None:
        return None
    return made.with_({"motor.run_current": float(current)}, origin=_ORIGIN, wanted=())


class _Serves(TypedDict, total=False):
    """How a motor serves: the part of a `MotorRow` that may be all unknown."""

    working_current: Band | None
    margin: Band | None
    governed_by: str | None
    speed_share: Band | None
    left: Band | None
    mass: Band | None
    serves: bool | None
    sure: float | None
    why_none: str


def _served(machine: Machine | None, voltage: float, flows: Flows) -> _Serves:
    if machine is None:
        return _unknown(_NO_CURRENT)
    powered = machine.with_({"supply.voltage": voltage}, origin=_ORIGIN, wanted=made_of(**flows))
    book = powered.book
    plain: _Serves = {
        "working_current": band_of(book.facts.get("motor.working_current")),
        "mass": band_of(book.facts.get("motor.mass")),
    }
    points = points_of(book, **flows)
    known = all(book.known(name) for name in NEEDED_FACTS.values() if not name.endswith("?"))
    if not known or not any(point.asked for point in points):
        return {**_unknown(_NOT_KNOWN), **plain}
    return {**_judged(book, points), **plain}


def _unknown(why: str) -> _Serves:
    return {
        "working_current": None,
        "margin": None,
        "governed_by": None,
        "speed_share": None,
        "left": None,
        "mass": None,
        "serves": None,
        "sure": None,
        "why_none": why,
    }


def _judged(book: FactBook, points: Sequence[Point]) -> _Serves:
    told = [point for point in points if point.asked]
    found = {point.name: torques(book, point) for point in points}
    ratios = [_ratio(found[p.name].usable, found[p.name].needed) for p in told]
    margin = np.min(np.stack(np.broadcast_arrays(*ratios)), axis=0)
    reached = [point for point in points if point.reached]
    fastest = found[max(reached, key=lambda point: float(point.speed[0, 0])).name]
    shares = [found[point.name].speed_share for point in reached]
    share = np.max(np.stack(np.broadcast_arrays(*shares)), axis=0)
    fine = (margin >= 1.0 / LEVEL) & (
        share <= column(book, book.samples("model.speed_share_trusted"))
    )
    return {
        "margin": band(margin[:, 0], "-"),
        "governed_by": told[int(np.argmin([float(x[0, 0]) for x in ratios]))].name,
        "speed_share": band(share[:, 0], "-"),
        "left": band(np.broadcast_to(fastest.left, margin.shape)[:, 0], "-"),
        "serves": bool(fine[0, 0]),
        "sure": float(np.mean(fine)),
    }


def _ratio(usable: Array, needed: Array) -> Array:
    ratio: Array = np.minimum(usable / np.maximum(needed, 1e-12), _AMPLE)
    return ratio


def torque_answer(config: str, asks: Asks, *, extruder: str | None = None) -> TorqueReport:
    """Return torque against speed of an extruder of a config.

    Parameters
    ----------
    config : str
        A config, or ``-``.
    asks : Asks
        Sheet, profiles, print and what else the command line states.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Raises
    ------
    UsageError
        For an extruder the config does not have, or a command line that cannot be.
    """
    checked = check_config(config, asks)
    name = chosen_extruder(checked, extruder)
    if name is None:
        report = checked.report
        lacking = () if report.errors else (NO_EXTRUDER,)
        return TorqueReport(
            extruder=None, lacking=lacking, files=report.files, errors=report.errors
        )
    return torque_report(checked, name)


def torque_report(checked: CheckedConfig, extruder: str) -> TorqueReport:
    """Return torque against speed of one extruder, with its operating points.

    Parameters
    ----------
    checked : CheckedConfig
        The config worked out; with a print among what was asked, its peak is a point too.
    extruder : str
        The extruder's section name.

    Returns
    -------
    TorqueReport
        Without curves, and a sentence why, where facts are lacking.
    """
    machine, catalog = checked.machines[extruder], load_catalog()
    book = machine.book
    plain = of_extruder(checked, extruder, _CAUTIONS)
    _, absent = arguments(book, {**NEEDED_FACTS, **HOTEND_INPUTS, "area": "filament.area"})
    if absent:
        return TorqueReport(lacking=tuple(_lacking(absent, catalog)), **plain)
    told = operating_points(book, points_of(book))
    flows, supplies = flows_to_serve(book), voltages(catalog)
    speeds = np.linspace(0.0, _top(book, told), PLACES)
    return TorqueReport(
        speeds=tuple(map(float, speeds)),
        corner_speed=band_of(book.facts.get("motor.corner_speed")),
        trusted_share=nominal(book, "model.speed_share_trusted"),
        limit_share=nominal(book, "model.speed_share_limit"),
        points=told,
        needs=motor_needs(book, points_of(book, **flows), supplies),
        motors=motor_rows(machine, flows),
        remarks=remarks_on(book, catalog, supplies),
        enough=_enough(told),
        assumed=_assumed(book, catalog),
        **_curves(book, speeds[None, :]),
        **plain,
    )


def _enough(points: Iterable[OperatingPoint]) -> bool | None:
    told = [point for point in points if point.asked]
    return all(x.needed.value <= x.usable.value * LEVEL for x in told) if told else None


class _Curves(TypedDict):
    """The lines of a `TorqueReport`."""

    usable: BandLine
    skip: BandLine
    needed: BandLine
    needed_count: int
    filament_speeds: tuple[float, ...]


def _curves(book: FactBook, speeds: Array) -> _Curves:
    usable, skip = available(book, speeds)
    travel, area = (
        column(book, book.samples(name))
        for name in ("drive.travel_per_motor_turn", "filament.area")
    )
    needed = drive.torque_for_force(
        needed_force(book, speeds * travel * area),
        gear_ratio=1.0,
        efficiency=column(book, book.samples("drive.gear_efficiency")),
        rotation_distance=travel,
    )
    most, least = band_line(skip, "mN m"), band_line(needed, "mN m")
    ceiling = _ROOM * max(most.value)
    filament = speeds[0] * float(travel[0, 0]) * 1e3
    return {
        "usable": band_line(usable, "mN m"),
        "skip": most,
        "needed": least,
        "needed_count": sum(1 for value in least.value if value <= ceiling),
        "filament_speeds": tuple(map(float, filament)),
    }


def _top(book: FactBook, points: tuple[OperatingPoint, ...]) -> float:
    """Return the end of the axis in turns per second: past every point, and the corner speed.

    A round number, so that the axis can be read.
    """
    fastest = max((point.motor_speed.value for point in points), default=1.0)
    corner = nominal(book, "motor.corner_speed")
    reach = _FURTHEST * fastest if corner is None else min(corner, _FURTHEST * fastest)
    least = _ROOM * max(fastest, reach, 1.0)
    power = 10.0 ** math.floor(math.log10(least))
    return next((end * power for end in _ENDS if end * power >= least), least)


def _assumed(book: FactBook, catalog: Catalog) -> tuple[str, ...]:
    names = book.facts["flow.torque"].trace.assumed if "flow.torque" in book.facts else frozenset()
    return tuple(catalog.facts[name].title for name in sorted(names))


def _lacking(absent: list[str], catalog: Catalog) -> Iterator[str]:
    words = ", ".join(catalog.facts[name].title for name in dict.fromkeys(absent))
    yield f"Torque against speed is not known; it needs: {words}."
