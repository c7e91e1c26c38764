"""Torque against speed of an extruder's motor: what it has, what is needed, what would serve."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from advisor.catalog import Catalog, load_catalog
from advisor.curve_records import OperatingPoint, TorqueReport
from advisor.curves.force import needed_force
from advisor.curves.motors import motor_needs, motor_rows
from advisor.curves.points import LEVEL, NEEDED_FACTS, available, operating_points, points_of
from advisor.curves.samples import Array, arguments, band_line, column, nominal
from advisor.facts.chain_flow import HOTEND_INPUTS
from advisor.facts.graph import FactBook
from advisor.facts.summary import band_of
from advisor.lint.check import CheckedConfig
from advisor.physics import drive
from advisor.units import parse_unit

__all__ = ["PLACES", "torque_report"]

PLACES = 81
_FLOW = parse_unit("mm3/s")
_ROOM = 1.15  # of the axis beyond the fastest point
_FURTHEST = 2.0  # times the fastest point: how far the axis goes to show the corner speed
_CAUTIONS = (
    "Near and above the corner speed real motors give less: their datasheet's curve goes first.",
    "A motor at its derated current can still burn: let it cool before you touch it.",
    "Gears pull in fingers; change hardware with the machine off.",
)


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
    book, catalog = checked.books[extruder], load_catalog()
    plain: dict[str, Any] = {
        "extruder": extruder,
        "files": checked.report.files,
        "errors": checked.report.errors,
        "weighed": checked.weighed(extruder),
        "cautions": _CAUTIONS,
    }
    _, absent = arguments(book, {**NEEDED_FACTS, **HOTEND_INPUTS, "area": "filament.area"})
    if absent:
        return TorqueReport(lacking=tuple(_lacking(absent, catalog)), **plain)
    told = operating_points(book, points_of(book))
    flows, remarks = _to_serve(book)
    inputs = checked.inputs.get(extruder)
    speeds = np.linspace(0.0, _top(book, told), PLACES)
    return TorqueReport(
        speeds=tuple(map(float, speeds)),
        corner_speed=band_of(book.facts.get("motor.corner_speed")),
        trusted_share=nominal(book, "model.speed_share_trusted"),
        limit_share=nominal(book, "model.speed_share_limit"),
        points=told,
        needs=motor_needs(book, points_of(book, **flows)),
        motors=motor_rows(inputs, book, flows, catalog) if inputs is not None else (),
        remarks=remarks,
        enough=all(x.needed.value <= x.usable.value * LEVEL for x in told if x.asked),
        assumed=_assumed(book, catalog),
        **_curves(book, speeds[None, :]),
        **plain,
    )


def _to_serve(book: FactBook) -> tuple[dict[str, Any], tuple[str, ...]]:
    """Return the flows a motor is to serve: what is asked, as far as the melt zone lets it."""
    capacity, asked = book.samples("flow.capacity"), book.samples("demand.asked_flow")
    melt, asked_now = nominal(book, "flow.melt"), nominal(book, "demand.asked_flow")
    flows = {"capacity": capacity, "asked": asked}
    if asked is None or melt is None or asked_now is None or asked_now <= melt:
        return flows, ()
    flows["asked"] = np.minimum(asked, np.asarray(book.samples("flow.melt")))
    words = f"{_FLOW.from_si(melt):.3g} mm3/s"
    return flows, (_SHORT_ZONE.format(words, f"{_FLOW.from_si(asked_now):.3g} mm3/s"),)


_SHORT_ZONE = (
    "The melt zone gives out at {0}, below the {1} asked: no motor makes up for that. What a motor "
    "must have is worked out for {0}."
)


def _curves(book: FactBook, speeds: Array) -> dict[str, Any]:
    usable, skip = available(book, speeds)
    travel, area = (
        column(book.samples(name)) for name in ("drive.travel_per_motor_turn", "filament.area")
    )
    needed = drive.torque_for_force(
        needed_force(book, speeds * travel * area),
        gear_ratio=1.0,
        efficiency=column(book.samples("drive.gear_efficiency")),
        rotation_distance=travel,
    )
    lines = {"usable": usable, "skip": skip, "needed": needed}
    bands = {name: band_line(values, "mN m") for name, values in lines.items()}
    ceiling = _ROOM * max(bands["skip"].value)
    inside = sum(1 for value in bands["needed"].value if value <= ceiling)
    filament = speeds[0] * float(travel[0, 0]) * 1e3
    return {**bands, "needed_count": inside, "filament_speeds": tuple(map(float, filament))}


def _top(book: FactBook, points: tuple[OperatingPoint, ...]) -> float:
    """Return the end of the axis in turns per second: past every point, and the corner speed."""
    fastest = max((point.motor_speed.value for point in points), default=1.0)
    corner = nominal(book, "motor.corner_speed")
    reach = _FURTHEST * fastest if corner is None else min(corner, _FURTHEST * fastest)
    return _ROOM * max(fastest, reach, 1.0)


def _assumed(book: FactBook, catalog: Catalog) -> tuple[str, ...]:
    names = book.facts["flow.torque"].assumed if "flow.torque" in book.facts else frozenset()
    return tuple(catalog.facts[name].title for name in sorted(names))


def _lacking(absent: list[str], catalog: Catalog) -> Iterator[str]:
    words = ", ".join(catalog.facts[name].title for name in dict.fromkeys(absent))
    yield f"Torque against speed is not known; it needs: {words}."
