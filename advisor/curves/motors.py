"""The motor-choice helper: what a motor must have to serve, and which of the classes do.

Both look at the operating points the machine is told to do. A motor serves where every one of
them lies within the usable torque, and the fastest within the trusted share of its corner speed.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from advisor.catalog import Catalog
from advisor.curve_records import MotorNeed, MotorRow
from advisor.curves.points import LEVEL, Point, Torques, points_of, torques
from advisor.curves.samples import Array, band, column
from advisor.facts.assemble import ExtruderInputs, build_facts
from advisor.facts.graph import FactBook
from advisor.facts.summary import band_of
from advisor.intake.sheet_fields import load_fields
from advisor.model import Fact, Origin, OriginKind

__all__ = ["VOLTAGES", "largest_inductance", "least_holding_torque", "motor_needs", "motor_rows"]

VOLTAGES = (12.0, 24.0, 48.0)  # V; the supplies there are to choose from
_ORIGIN = Origin(OriginKind.COMMAND, setting="another motor")
_CLASSES = ("drive.class", "hotend.class", "hotend.insert", "drive.mount", "filament.material")


def motor_needs(book: FactBook, points: tuple[Point, ...]) -> tuple[MotorNeed, ...]:
    """Return the least holding torque and the largest inductance that serve, at each voltage.

    At the machine's own rated current, share of it in use, winding resistance and rotor inertia.
    """
    told = [point for point in points if point.asked]
    if not told:
        return ()
    found = [torques(book, point) for point in told]
    torque = least_holding_torque(book, found)
    governed = told[int(np.argmax([float(x.needed[0, 0]) for x in found]))]
    fastest = told[int(np.argmax([float(x.speed[0, 0]) for x in told]))]
    speed = np.max(np.stack([np.broadcast_to(x.speed, torque.shape) for x in told]), axis=0)
    return tuple(_need(book, v, torque, speed, governed, fastest) for v in VOLTAGES)


def _need(
    book: FactBook, voltage: float, torque: Array, speed: Array, governed: Point, fastest: Point
) -> MotorNeed:
    inductance = largest_inductance(book, torque, speed, voltage=voltage)
    serves = float(inductance[0, 0]) > 0.0 and bool(np.isfinite(torque[0, 0]))
    return MotorNeed(
        voltage=voltage,
        rated_current=_first(book, "motor.rated_current"),
        working_current=_first(book, "motor.working_current"),
        resistance=_first(book, "motor.resistance"),
        holding_torque=band(torque[:, 0], "mN m") if serves else None,
        inductance=band(inductance[:, 0], "mH") if serves else None,
        governed_by=governed.name,
        fastest=fastest.name,
        why_none=None if serves else _why_none(torque),
    )


def _why_none(torque: Array) -> str:
    if not np.isfinite(torque[0, 0]):
        return "what is asked cannot be fed by any motor: nothing melts at that flow"
    return "the supply cannot drive this current at that speed, whatever the inductance"


def least_holding_torque(book: FactBook, found: list[Torques]) -> Array:
    """Return the least holding torque that bears every point's need below the corner speed.

    There the torque is flat: torque constant times the amplitude of the current. Detent torque
    grows in proportion to the holding torque.

    Returns
    -------
    array
        Shape (SIZE, 1), [N m]
    """
    names = {
        "holding": "motor.holding_torque",
        "detent": "motor.detent_torque",
        "share": "motor.usable_share",
        "constant": "motor.torque_constant",
        "current": "motor.flowing_current",
    }
    x = {name: column(book.samples(fact)) for name, fact in names.items()}
    peak = x["constant"] * math.sqrt(2.0) * x["current"] / x["holding"]
    usable = x["share"] * np.maximum(peak - x["detent"] / x["holding"], 1e-9)
    needed = np.max(np.stack(np.broadcast_arrays(*(one.needed for one in found))), axis=0)
    least: Array = np.asarray(needed / usable)
    return least


def largest_inductance(
    book: FactBook, holding_torque: Array, speed: Array, *, voltage: float
) -> Array:
    """Return the largest inductance with which a speed is within the trusted share of the corner.

    The corner condition of `motor.corner_speed`, solved for the inductance:
    (R I + w K / p)^2 + (w L I)^2 = V^2.

    Parameters
    ----------
    book : FactBook
        The machine whose current, resistance and conventions hold.
    holding_torque : array
        Of the motor looked for, shape (SIZE, 1), [N m]
    speed : array
        Of the fastest point, shape (SIZE, 1), [1/s]
    voltage : float
        Of the supply, [V]

    Returns
    -------
    array
        Shape (SIZE, 1), [H]; 0 where no inductance is small enough.
    """
    names = {
        "constant": "motor.torque_constant",
        "holding": "motor.holding_torque",
        "current": "motor.flowing_current",
        "resistance": "motor.hot_resistance",
        "pairs": "motor.pole_pairs",
        "trusted": "model.speed_share_trusted",
    }
    x = {name: column(book.samples(fact)) for name, fact in names.items()}
    amplitude = math.sqrt(2.0) * x["current"]
    flux = x["constant"] * holding_torque / x["holding"] / x["pairs"]
    turning = 2.0 * math.pi * x["pairs"] * np.maximum(speed, 1e-9) / x["trusted"]
    head = voltage**2 - (x["resistance"] * amplitude + turning * flux) ** 2
    largest: Array = np.sqrt(np.maximum(head, 0.0)) / (turning * amplitude)
    return largest


def motor_rows(
    inputs: ExtruderInputs, book: FactBook, flows: Mapping[str, Any], catalog: Catalog
) -> tuple[MotorRow, ...]:
    """Return how each motor class would serve at its own derated current and each voltage.

    Parameters
    ----------
    inputs : ExtruderInputs
        What is stated of the machine.
    book : FactBook
        Its facts.
    flows : mapping
        The ``capacity`` and the ``asked`` flow to serve, as `points_of` takes them, [m3/s]
    catalog : Catalog
        The motor classes.
    """
    names = [name for name in catalog.category("motors") if name != "unstated"]
    others = {name: _with_motor(inputs, book, name, catalog) for name in names}
    return tuple(_row(n, v, others[n], flows, catalog) for n in names for v in VOLTAGES)


def _with_motor(
    inputs: ExtruderInputs, book: FactBook, motor: str, catalog: Catalog
) -> ExtruderInputs:
    """Return inputs with another motor class, set to the largest current that it bears."""
    stated = dict(inputs.stated)
    for name in _CLASSES:
        if book.known(name):
            stated[name] = book.facts[name]
    for name in _renewed(inputs):
        stated.pop(name, None)
    stated["motor.class"] = Fact("motor.class", "", motor, origin=_ORIGIN)
    measured = {k: v for k, v in inputs.measured.items() if k == "measured_flow"}
    made = dataclasses.replace(inputs, stated=stated, measured=measured)
    current = build_facts(made, catalog).samples("motor.set_current")
    if current is not None:
        name = "motor.run_current"
        stated = {**stated, name: Fact(name, "A rms", float(current), origin=_ORIGIN)}
    return dataclasses.replace(made, stated=stated)


def _renewed(inputs: ExtruderInputs) -> Iterator[str]:
    """Yield what the sheet states of the motor that is there: another class makes it void."""
    fields = load_fields()
    for path in fields.renews.get("motor.class", ()):
        for name, field in fields.fields.items():
            fact = inputs.stated.get(field.fact)
            inside = name == path or name.startswith(f"{path}.")
            if inside and fact is not None and fact.origin.kind is OriginKind.SHEET:
                yield field.fact


def _row(
    motor: str,
    voltage: float,
    inputs: ExtruderInputs,
    flows: Mapping[str, Any],
    catalog: Catalog,
) -> MotorRow:
    name = "supply.voltage"
    stated = {**inputs.stated, name: Fact(name, "V", voltage, origin=_ORIGIN)}
    book = build_facts(dataclasses.replace(inputs, stated=stated), catalog)
    title = catalog.category("motors")[motor].title
    told = [point for point in points_of(book, **flows) if point.asked]
    plain: dict[str, Any] = {
        "motor": motor,
        "title": title,
        "voltage": voltage,
        "working_current": band_of(book.facts.get("motor.working_current")),
        "mass": band_of(book.facts.get("motor.mass")),
    }
    if not told or book.samples("motor.corner_speed") is None:
        return MotorRow(
            margin=None, governed_by=None, speed_share=None, left=None, serves=None, sure=None,
            **plain,
        )  # fmt: skip
    return MotorRow(**plain, **_served(book, told))


def _served(book: FactBook, told: list[Point]) -> dict[str, Any]:
    found = [torques(book, point) for point in told]
    ratios = [
        np.minimum(x.usable / np.maximum(x.needed, 1e-9), _AMPLE) + 0.0 * point.speed
        for x, point in zip(found, told, strict=True)
    ]
    margin = np.min(np.stack(np.broadcast_arrays(*ratios)), axis=0)
    fastest = int(np.argmax([float(point.speed[0, 0]) for point in told]))
    share = np.max(np.stack(np.broadcast_arrays(*(x.speed_share for x in found))), axis=0)
    fine = (margin >= 1.0 / LEVEL) & (share <= column(book.samples("model.speed_share_trusted")))
    return {
        "margin": band(margin[:, 0], "-"),
        "governed_by": told[int(np.argmin([float(x[0, 0]) for x in ratios]))].name,
        "speed_share": band(share[:, 0], "-"),
        "left": band(np.broadcast_to(found[fastest].left, margin.shape)[:, 0], "-"),
        "serves": bool(fine[0, 0]),
        "sure": float(np.mean(fine)),
    }


_AMPLE = 100.0  # times what is needed: more says no more


def _first(book: FactBook, name: str) -> float:
    return float(np.ravel(book.samples(name))[0])
