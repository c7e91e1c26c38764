"""Which motor classes would serve: each at the current it bears, at each supply voltage.

What a motor must have at all stands in `needs`; a class serves where it has that.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypedDict

import numpy as np

from advisor.answers.curve_records import LEVEL, MotorRow
from advisor.answers.curves.points import NEEDED_FACTS, Flows, Point, made_of, points_of, torques
from advisor.answers.curves.samples import Array, band, column
from advisor.base import Band, Origin, OriginKind
from advisor.catalog import Catalog
from advisor.machine import Change, FactBook, Machine, band_of, renewed, stated_classes

__all__ = ["motor_rows", "voltages"]

_ORIGIN = Origin(OriginKind.COMMAND, setting="another motor")
_NO_CURRENT = (
    "no current is safe here: the mount, the filament or the ambient is too near its limit"
)
_NOT_KNOWN = "what it would need or have is not known"
_AMPLE = 100.0  # times what is needed: more says no more


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
