"""What the user measured: a hotend's own flow, a force at which the drive skipped or slipped."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from advisor.base import Fact, Origin, OriginKind, Quantity, Trace
from advisor.catalog import Catalog
from advisor.inputs import Measurement
from advisor.machine import chain_flow
from advisor.machine.catalogue_inputs import band_samples, put_entry
from advisor.machine.graph import FactBook
from advisor.physics import drive, heat

__all__ = ["put_measured_case", "put_measured_flow", "put_measured_forces"]


def put_measured_flow(
    book: FactBook, catalog: Catalog, measured: Mapping[str, Measurement]
) -> None:
    """Put the melt flow the model gives at the conditions of `hotend.measured_flow`.

    The chain scales the measured flow by the model's ratio between the two conditions.
    `measured` holds ``measured_flow``: flow, material, temperature, nozzle (missing ones are those
    of the machine).
    """
    record = measured.get("measured_flow")
    if record is None or not book.known("hotend.measured_flow"):
        return
    there = book.aside()
    _put_conditions(there, catalog, record)
    for name in (*_DERIVED, "flow.melt"):
        there.facts.pop(name, None)
    there.derive_all(formula for formula in chain_flow.MELT if formula.output in _DERIVED)
    made = there.facts.get("hotend.model_melt_flow")
    if made is None or made.number is None:
        return
    name = "hotend.model_flow_at_measurement"
    words = "pi x diffusivity x melt length / critical Fourier number, as measured"
    trace = Trace(("hotend.measured_flow",), words, modelled=made.trace.modelled)
    book.put(Fact(name, book.of(name, made.number.si), trace=trace))
    _forgive_melt_length(book)


_DERIVED = (
    "hotend.inlet_temperature",
    "hotend.wall_temperature",
    "hotend.effective_melt_length",
    "hotend.heated_length",
    "model.critical_fourier",
    "hotend.model_melt_flow",
)


def _forgive_melt_length(book: FactBook) -> None:
    """The melt length cancels in the ratio: with a measured flow it is no assumption."""
    fact = book.facts["hotend.melt_length"]
    if fact.trace.assumed:
        book.put(fact.traced(Trace(modelled=frozenset({fact.name}))))


def _put_conditions(there: FactBook, catalog: Catalog, record: Measurement) -> None:
    material = record.text("material")
    if material is not None:
        entry = catalog.lookup("materials", material)
        for name in entry.numbers:
            there.facts.pop(name, None)
        put_entry(there, entry, stated=True)
    for field, name in (("temperature", "hotend.temperature"), ("nozzle", "nozzle.diameter")):
        value = record.nominal(field)
        if value is not None:
            there.put(there.stated(name, value, _SHEET))


_SHEET = Origin(OriginKind.SHEET)
_CASE_INPUTS = ("motor.resistance", "motor.case_share", "model.copper_coefficient")


def put_measured_case(book: FactBook, measured: Mapping[str, Measurement]) -> None:
    """Put the thermal resistance that a measured case temperature stands for.

    `measured` holds ``measured_case``: temperature, current, ambient. The winding's rise follows
    from the case's by the case share; a long run at that current is taken for granted. A case that
    was no warmer than the air says nothing, and is left out.
    """
    record = measured.get("measured_case")
    parts = book.each(_CASE_INPUTS)
    if record is None or parts is None:
        return
    resistance, share, copper = parts
    case, current = record.nominal("temperature"), record.nominal("current")
    ambient = record.nominal("ambient") or book.nominal("ambient.motor")
    if case is None or current is None or ambient is None or case <= ambient:
        return
    real = heat.thermal_resistance_from_rating(
        rated_current=current,
        rated_rise=(case - ambient) / share,
        rated_ambient=ambient,
        resistance_20c=resistance,
        temperature_coefficient=copper,
    )
    words = "measured rise of the case / {motor.case_share} / (2 R I^2 at that rise)"
    origin = Origin(OriginKind.MEASURED, at=record.at)
    _put(book, "motor.thermal_resistance", real, origin, book.trace_of(_CASE_INPUTS, words))


def put_measured_forces(book: FactBook, measured: Mapping[str, Measurement]) -> None:
    """Put what a spring scale on the filament showed: the grip, or the motor's torque."""
    record = measured.get("measured_force")
    number = None if record is None else record.number("force")
    if record is None or number is None:
        return
    low, typical, high = number.stated
    force = band_samples(book.ensemble, "drive.measured_force", low=low, typical=typical, high=high)
    origin = Origin(OriginKind.MEASURED, at=record.at)
    if record.text("outcome") == "slipped":
        book.put(book.stated("force.grip", force, origin))
        return
    _put_torque_constant(book, force, origin)


def _put_torque_constant(book: FactBook, force: Quantity, origin: Origin) -> None:
    """The motor skipped at this force: torque = force x travel / (2 pi efficiency) + detent."""
    names = ("drive.gear_efficiency", "drive.travel_per_motor_turn", "motor.detent_torque")
    current = book.samples("motor.flowing_current")
    parts = book.each(names)
    if current is None or parts is None:
        return
    efficiency, travel, detent = parts
    torque = detent + drive.torque_for_force(
        force, gear_ratio=1.0, efficiency=efficiency, rotation_distance=travel
    )
    words = "(measured force x travel / (2 pi x efficiency) + detent) / (sqrt 2 x current)"
    trace = book.trace_of((*names, "motor.flowing_current"), words)
    hangs = trace._replace(assumed=trace.assumed - {"motor.rated_current"})
    constant = torque / (math.sqrt(2.0) * np.maximum(current, 1e-9))
    _put(book, "motor.torque_constant", constant, origin, hangs)


def _put(book: FactBook, name: str, si: Quantity, origin: Origin, trace: Trace) -> None:
    book.put(Fact(name, book.of(name, si), origin=origin, trace=trace))
