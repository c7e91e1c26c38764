"""What a motor must have to serve: the least holding torque and the largest inductance.

A motor serves where the need of every operating point lies within the usable torque, and the
fastest speed it reaches within the trusted share of its corner speed. Below the corner speed the
torque is flat, so that both follow in closed form; tests solve the physics for them instead.

The flows that a motor is looked for to serve, and what no motor makes up for, stand here too.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from advisor.answers.curve_records import MotorNeed
from advisor.answers.curves.points import Flows, Point, Torques, torques
from advisor.answers.curves.samples import Array, band, column, nominal
from advisor.base import parse_unit
from advisor.catalog import Catalog
from advisor.machine import FactBook

__all__ = [
    "flows_to_serve",
    "largest_inductance",
    "least_holding_torque",
    "motor_needs",
    "remarks_on",
]

_FLOW = parse_unit("mm3/s")
_OTHERS = {
    "flow.grip": "the gears slip",
    "flow.buckling": "the filament buckles in the gap",
    "flow.heater": "the heater cannot keep temperature",
}
_SHORT_ZONE = (
    "The melt zone melts {0} at most, below the {1} requested: no motor makes up for that. What a "
    "motor must have is worked out for {0}."
)
_OTHER_LIMIT = "Above {0} {1}, below the {2} requested: no motor makes up for that either."
_NOTHING_ASKED = (
    "No flow is requested, so the motor is sized for the capacity of {0}; state what you want with "
    "--asked or a profile."
)
_DRIVER = (
    "The driver is rated for {0:.0f} V: {1} V takes another one, and a board, a heater and fans "
    "for that voltage."
)
_ASKED = {"flow.melt": "demand.asked_flow", "flow.heater": "demand.asked_heat"}
_NO_FEED = "what is asked cannot be fed by any motor: nothing melts at that flow"
_NO_TORQUE = (
    "at so small a share of its rated current a motor has no torque beyond its own detent torque"
)
_NO_VOLTAGE = "the supply cannot drive this current at that speed, whatever the inductance"
_STILL = 1e-9  # 1/s, A: as good as none


def flows_to_serve(book: FactBook) -> Flows:
    """Return the flows a motor is to serve: what is asked, as far as the melt zone lets it.

    Returns
    -------
    dict
        Arguments of `points_of`, [m3/s]
    """
    capacity, asked = book.samples("flow.capacity"), book.samples("demand.asked_push")
    if asked is not None and _beyond(book, "flow.melt"):
        asked = np.minimum(asked, np.asarray(book.samples("flow.melt")))
    return {"capacity": capacity, "asked": asked}


def remarks_on(book: FactBook, catalog: Catalog, voltages: Sequence[float]) -> tuple[str, ...]:
    """Return what to say of the search for a motor: what it is for, and what it cannot cure."""
    return (*_of_flow(book), *_of_driver(book, catalog, voltages))


def _of_flow(book: FactBook) -> Iterator[str]:
    asked = nominal(book, "demand.asked_push")
    if asked is None:
        capacity = nominal(book, "flow.capacity")
        if capacity is not None:
            yield _NOTHING_ASKED.format(_flow(capacity))
        return
    if _beyond(book, "flow.melt"):
        yield _SHORT_ZONE.format(_flow(nominal(book, "flow.melt") or 0.0), _flow(asked))
    for name, words in _OTHERS.items():
        if _beyond(book, name):
            yield _OTHER_LIMIT.format(_flow(nominal(book, name) or 0.0), words, _flow(asked))


def _beyond(book: FactBook, limit: str) -> bool:
    """Whether the flow asked over a limit's own window lies beyond it, nominally."""
    asked, flow = nominal(book, _ASKED.get(limit, "demand.asked_push")), nominal(book, limit)
    return asked is not None and flow is not None and asked > flow


def _of_driver(book: FactBook, catalog: Catalog, voltages: Sequence[float]) -> Iterator[str]:
    chip = catalog.drivers.get(str(book.text("driver.chip")))
    number = chip.numbers.get("driver.supply_high") if chip is not None else None
    if number is None:
        return
    above = [f"{voltage:.0f}" for voltage in voltages if voltage > number.typical]
    if above:
        yield _DRIVER.format(number.typical, " and ".join(above))


def _flow(flow: float) -> str:
    return f"{_FLOW.from_si(flow):.3g} mm3/s"


def motor_needs(
    book: FactBook, points: Sequence[Point], voltages: Sequence[float]
) -> tuple[MotorNeed, ...]:
    """Return the least holding torque and the largest inductance that serve, at each voltage.

    At the machine's own rated current, share of it in use, winding resistance and rotor inertia.

    Parameters
    ----------
    book : FactBook
        The machine's facts; those of `NEEDED_FACTS` are known.
    points : sequence of Point
        What the motor is to serve; of mere limits nothing is needed.
    voltages : sequence of float
        Of the supplies to choose from, [V]
    """
    told = [point for point in points if point.asked]
    if not told:
        return ()
    found = [torques(book, point) for point in told]
    torque = least_holding_torque(book, found)
    governed = told[int(np.argmax([float(x.needed[0, 0]) for x in found]))]
    reached = [point for point in points if point.reached]
    fastest = reached[int(np.argmax([float(x.speed[0, 0]) for x in reached]))]
    speed = np.max(np.stack(np.broadcast_arrays(torque, *(x.speed for x in reached))[1:]), axis=0)
    why = None if np.isfinite(torque[0, 0]) else _why_no_torque(found)
    return tuple(
        _need(book, voltage, torque, speed, why, governed_by=governed.name, fastest=fastest.name)
        for voltage in voltages
    )


def _why_no_torque(found: Sequence[Torques]) -> str:
    fed = all(np.isfinite(x.needed[0, 0]) for x in found)
    return _NO_TORQUE if fed else _NO_FEED


def _need(
    book: FactBook, voltage: float, torque: Array, speed: Array, why: str | None, **points: str
) -> MotorNeed:
    inductance = largest_inductance(book, torque, speed, voltage=voltage)
    if why is None and float(inductance[0, 0]) <= 0.0:
        why = _NO_VOLTAGE
    return MotorNeed(
        voltage=voltage,
        rated_current=_first(book, "motor.rated_current"),
        working_current=_first(book, "motor.working_current"),
        resistance=_first(book, "motor.resistance"),
        holding_torque=band(torque[:, 0], "mN m") if why is None else None,
        inductance=band(inductance[:, 0], "mH") if why is None else None,
        why_none=why,
        **points,
    )


def least_holding_torque(book: FactBook, found: Sequence[Torques]) -> Array:
    """Return the least holding torque that bears every point's need below the corner speed.

    There the torque is flat: torque constant times the amplitude of the current. Detent torque
    grows in proportion to the holding torque.

    Parameters
    ----------
    book : FactBook
        The machine whose current, conventions and share of detent torque hold.
    found : sequence of Torques
        What the points need.

    Returns
    -------
    array
        Shape (size, 1), [N m]; infinite where no motor bears it.
    """
    x = _columns(
        book,
        holding="motor.holding_torque",
        detent="motor.detent_torque",
        share="motor.usable_share",
        constant="motor.torque_constant",
        current="motor.flowing_current",
    )
    peak = x["constant"] * math.sqrt(2.0) * x["current"] / x["holding"]
    usable = x["share"] * (peak - x["detent"] / x["holding"])
    needed = np.max(np.stack(np.broadcast_arrays(*(one.needed for one in found))), axis=0)
    bears = usable > 0.0
    least: Array = np.where(bears, needed / np.where(bears, usable, 1.0), np.inf)
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
        Of the motor looked for, shape (size, 1), [N m]
    speed : array
        Of the fastest point, shape (size, 1), [1/s]
    voltage : float
        Of the supply, [V]

    Returns
    -------
    array
        Shape (size, 1), [H]; 0 where no inductance is small enough.

    Notes
    -----
    The same motor wound for another rated current, with the same share of it in use, has R and L
    as one over its square and K as one over it. Put into the condition: wound for twice the
    current it has a quarter of the inductance, while this limit falls to no less than half.
    """
    x = _columns(
        book,
        constant="motor.torque_constant",
        holding="motor.holding_torque",
        current="motor.flowing_current",
        resistance="motor.hot_resistance",
        pairs="motor.pole_pairs",
        trusted="model.speed_share_trusted",
    )
    amplitude = math.sqrt(2.0) * x["current"]
    flux = x["constant"] * holding_torque / x["holding"] / x["pairs"]
    turning = 2.0 * math.pi * x["pairs"] * np.maximum(speed, _STILL) / x["trusted"]
    head = voltage**2 - (x["resistance"] * amplitude + turning * flux) ** 2
    largest: Array = np.sqrt(np.maximum(head, 0.0)) / (turning * np.maximum(amplitude, _STILL))
    return largest


def _columns(book: FactBook, **names: str) -> dict[str, Array]:
    return {name: column(book, book.samples(fact)) for name, fact in names.items()}


def _first(book: FactBook, name: str) -> float:
    value = book.nominal(name)
    assert value is not None, name
    return value
