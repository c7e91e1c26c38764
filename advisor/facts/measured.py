"""What the user measured: a hotend's own flow, a force at which the drive skipped or slipped."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from advisor.catalog import Catalog
from advisor.facts import chain_flow
from advisor.facts.catalogue_inputs import band_samples, put_entry
from advisor.facts.graph import FactBook
from advisor.model import Fact, Origin, OriginKind
from advisor.number import Quantity
from advisor.physics import drive, heat

__all__ = ["put_measured_case", "put_measured_flow", "put_measured_forces"]


def put_measured_flow(book: FactBook, catalog: Catalog, measured: Mapping[str, Any]) -> None:
    """Put the melt flow the model gives at the conditions of `hotend.measured_flow`.

    The chain scales the measured flow by the model's ratio between the two conditions.
    `measured` holds ``measured_flow``: a mapping of flow (band), material, temperature, nozzle
    (SI floats; missing ones are those of the machine).
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
    if made is None or not made.known:
        return
    book.put(
        Fact(
            name="hotend.model_flow_at_measurement",
            unit=book.units["hotend.model_flow_at_measurement"],
            samples=made.samples,
            inputs=("hotend.measured_flow",),
            formula="pi x diffusivity x melt length / critical Fourier number, as measured",
            modelled=made.modelled,
        )
    )
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
    if fact.assumed:
        book.put(
            Fact(
                name=fact.name,
                unit=fact.unit,
                samples=fact.samples,
                origin=fact.origin,
                modelled=frozenset({fact.name}),
                home=fact.home,
            )
        )


def _put_conditions(there: FactBook, catalog: Catalog, record: Mapping[str, Any]) -> None:
    material = record.get("material")
    if material is not None:
        entry = catalog.lookup("materials", material)
        for name in entry.numbers:
            there.facts.pop(name, None)
        put_entry(there, entry, stated=True)
    for field, name in (("temperature", "hotend.temperature"), ("nozzle", "nozzle.diameter")):
        value = record.get(field)
        if value is not None:
            there.put(Fact(name, there.units[name], value, origin=_SHEET))


_SHEET = Origin(OriginKind.SHEET)
_CASE_INPUTS = ("motor.resistance", "motor.case_share", "model.copper_coefficient")


def put_measured_case(book: FactBook, measured: Mapping[str, Any]) -> None:
    """Put the thermal resistance that a measured case temperature stands for.

    `measured` holds ``measured_case``: temperature, current, ambient (SI floats). The winding's
    rise follows from the case's by the case share; a long run at that current is taken for granted.
    A case that was no warmer than the air says nothing, and is left out.
    """
    record = measured.get("measured_case")
    parts = book.each(_CASE_INPUTS)
    if record is None or parts is None:
        return
    resistance, share, copper = parts
    ambient = record.get("ambient") or book.nominal("ambient.motor")
    if ambient is None or record["temperature"] <= ambient:
        return
    real = heat.thermal_resistance_from_rating(
        rated_current=record["current"],
        rated_rise=(record["temperature"] - ambient) / share,
        rated_ambient=ambient,
        resistance_20c=resistance,
        temperature_coefficient=copper,
    )
    facts = [book.facts[name] for name in _CASE_INPUTS]
    book.put(
        Fact(
            name="motor.thermal_resistance",
            unit=book.units["motor.thermal_resistance"],
            samples=real,
            origin=Origin(OriginKind.MEASURED, at=record.get("at")),
            inputs=_CASE_INPUTS,
            formula="measured rise of the case / {motor.case_share} / (2 R I^2 at that rise)",
            assumed=frozenset().union(*(fact.assumed for fact in facts)),
            modelled=frozenset().union(*(fact.modelled for fact in facts)),
        )
    )


def put_measured_forces(book: FactBook, measured: Mapping[str, Any]) -> None:
    """Put what a spring scale on the filament showed: the grip, or the motor's torque."""
    record = measured.get("measured_force")
    if record is None:
        return
    low, typical, high = record["force"]
    force = band_samples(book.ensemble, "drive.measured_force", low=low, typical=typical, high=high)
    origin = Origin(OriginKind.MEASURED, at=record.get("at"))
    if record["outcome"] == "slipped":
        book.put(Fact("force.grip", book.units["force.grip"], force, origin=origin))
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
    facts = [book.facts[name] for name in (*names, "motor.flowing_current")]
    book.put(
        Fact(
            name="motor.torque_constant",
            unit=book.units["motor.torque_constant"],
            samples=torque / (math.sqrt(2.0) * np.maximum(current, 1e-9)),
            origin=origin,
            inputs=(*names, "motor.flowing_current"),
            formula="(measured force x travel / (2 pi x efficiency) + detent) / (sqrt 2 x current)",
            assumed=frozenset().union(*(fact.assumed for fact in facts)) - {"motor.rated_current"},
            modelled=frozenset().union(*(fact.modelled for fact in facts)),
        )
    )
