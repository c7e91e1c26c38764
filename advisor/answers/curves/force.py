"""Force against flow: what the hotend asks, and what motor, grip and free gap can give.

Where the line of what is asked crosses one of the others lies that flow limit.
"""

from __future__ import annotations

from typing import TypedDict

import numpy as np

from advisor.answers.curve_records import ForceReport
from advisor.answers.curves.samples import Array, arguments, band, band_line, column
from advisor.base import Band, LimitBand, Quantity, parse_unit
from advisor.machine import HOTEND_INPUTS, MOTOR_INPUTS, FactBook, band_of, bottleneck, limit_bands
from advisor.physics import limits, melt

__all__ = ["PLACES", "force_report", "motor_forces", "needed_force"]

PLACES = 81
_FLOW = parse_unit("mm3/s")
_ROOM = 1.2  # of the axis beyond what it must hold
_NEAR, _FAR = 2.0, 3.0  # times the capacity: limits and ends of bands further off are not shown


def force_report(
    extruder: str, book: FactBook, titles: dict[str, str] | None = None
) -> ForceReport:
    """Return force against flow of an extruder.

    Parameters
    ----------
    extruder : str
        Its section's name.
    book : FactBook
        Its facts.
    titles : mapping, optional
        Titles of facts by name, for the sentence on what is not known.

    Returns
    -------
    ForceReport
        Forces in N over flows in mm3/s; without lines, and a sentence why, where the hotend's
        or the motor's facts are not known.
    """
    found = limit_bands(book.facts)
    lacking = _lacking(book, titles or {})
    ends = _marks(book)
    capacity = ends["capacity"]
    if lacking or capacity is None:
        return ForceReport(extruder=extruder, lacking=tuple(lacking), **ends)
    flows = np.linspace(0.0, _top(capacity, ends["asked"], found), PLACES)
    si = np.asarray(_FLOW.to_si(flows))[None, :]
    usable, stall = motor_forces(book, si)
    return ForceReport(
        extruder=extruder,
        flows=tuple(map(float, flows)),
        needed=band_line(needed_force(book, si), "N"),
        usable=band_line(usable, "N"),
        stall=band_line(stall, "N"),
        bottleneck=bottleneck(found)[0],
        **ends,
    )


def needed_force(book: FactBook, flows: Array) -> Array:
    """Return the push that the hotend asks at flows.

    Parameters
    ----------
    book : FactBook
        The extruder's facts.
    flows : array
        Flows of shape (1, places) or (size, places), [m3/s]

    Returns
    -------
    array
        Forces of shape (size, places), [N]; infinite where nothing melts.
    """
    hotend, _ = arguments(book, HOTEND_INPUTS)
    force: Array = np.asarray(melt.required_force(flows, **hotend))
    return force


def motor_forces(book: FactBook, flows: Array) -> tuple[Array, Array]:
    """Return the push that the motor can give at flows: the usable part of it, and all of it.

    Parameters
    ----------
    book : FactBook
        The extruder's facts.
    flows : array
        Flows of shape (1, places) or (size, places), [m3/s]

    Returns
    -------
    tuple of arrays
        Forces of shape (size, places), [N]
    """
    motor, _ = arguments(book, MOTOR_INPUTS)
    train: dict[str, Quantity] = {"gear_ratio": 1.0, "rotation_distance": motor.pop("travel")}
    share = column(book, book.samples("motor.usable_share"))
    stall: Array = np.asarray(limits.motor_force(flows, usable_share=1.0, **train, **motor))
    return share * stall, stall


def _lacking(book: FactBook, titles: dict[str, str]) -> list[str]:
    needs = {**HOTEND_INPUTS, **MOTOR_INPUTS, "share": "motor.usable_share"}
    _, absent = arguments(book, needs)
    if not absent:
        return []
    words = ", ".join(titles.get(name, name) for name in dict.fromkeys(absent))
    return [f"Force against flow is not known; it needs: {words}."]


class _Marks(TypedDict):
    """The bands of a `ForceReport`: what the parts hold, and the flows that are marked."""

    grip_usable: Band | None
    grip: Band | None
    buckling: Band | None
    melt: Band | None
    heater: Band | None
    capacity: Band | None
    asked: Band | None


def _marks(book: FactBook) -> _Marks:
    facts = book.facts
    buckling, guide = book.samples("force.buckling"), book.samples("model.guide_force")
    at_gears = None if buckling is None or guide is None else np.asarray(buckling) + guide
    return {
        "grip_usable": band_of(facts.get("force.grip_usable")),
        "grip": band_of(facts.get("force.grip")),
        "buckling": None if at_gears is None else band(at_gears, "N"),
        "melt": band_of(facts.get("flow.melt")),
        "heater": band_of(facts.get("flow.heater")),
        "capacity": band_of(facts.get("flow.capacity")),
        "asked": band_of(facts.get("demand.asked_push")),
    }


def _top(capacity: Band, asked: Band | None, found: tuple[LimitBand, ...]) -> float:
    """Return the end of the axis in mm3/s: the capacity, its band and what is near it."""
    middle = max(capacity.value, 1.0)
    near = [x.flow for x in found if x.flow is not None and x.flow < _NEAR * middle]
    held = [middle, min(capacity.high, _FAR * middle), *near]
    if asked is not None:
        held.append(min(asked.value, _FAR * middle))
    return _ROOM * max(held)
