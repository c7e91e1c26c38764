"""The facts of the driver: what it applies of a current, what it bears, what then flows."""

from __future__ import annotations

import dataclasses
import math

import numpy as np

from advisor.catalog import Catalog, Entry
from advisor.machine.catalogue_inputs import put_number
from advisor.machine.driver import Apply, DriverModel, driver_model
from advisor.machine.graph import FactBook
from advisor.physics import current

__all__ = ["Apply", "driver_of", "put_driver", "put_working_current"]

_NUMBERS = (
    "driver.sense_resistor",
    "driver.reference_resistor",
    "driver.rms_limit",
    "driver.firmware_limit",
)
_VOLTAGE = "driver.chip_voltage_high"


def put_driver(book: FactBook, catalog: Catalog) -> Apply | None:
    """Put the driver's facts and return how it rounds a current, where the chip is known."""
    entry = catalog.drivers.get(book.text("driver.chip") or "")
    if entry is None:
        return None
    _put_numbers(book, entry)
    _put_tolerance(book, entry)
    model = _model(book, entry)
    _put_silent_limit(book, entry)
    if model is None:
        return None
    uses = ("driver.chip", model.uses)
    book.put_made("driver.full_scale_current", model.full_scale, uses, "the chip's largest setting")
    run = book.samples("motor.run_current")
    if run is not None:
        applied = model.apply(np.minimum(run, model.full_scale))
        words = "the driver's nearest step to the run current"
        book.put_made("motor.applied_current", applied, ("motor.run_current", *uses), words)
    return model.apply


def driver_of(book: FactBook, catalog: Catalog) -> DriverModel | None:
    """Return the driver of a machine that was worked out; None where its chip is not known."""
    entry = catalog.drivers.get(book.text("driver.chip") or "")
    return None if entry is None else _model(book, entry)


def put_working_current(book: FactBook) -> None:
    """Where no run current is stated, let the motor run at its derated current: assumed."""
    derated = book.samples("motor.derated_current")
    if derated is None or book.known("motor.run_current"):
        return
    words = "no run current is stated: as if set to the derated current"
    book.put_made("motor.working_current", derated, ("motor.derated_current",), words)
    fact = book.facts["motor.working_current"]
    assumed = fact.trace.assumed | {"motor.run_current"}
    book.put(fact.traced(fact.trace._replace(assumed=assumed)))


def _put_numbers(book: FactBook, entry: Entry) -> None:
    for name in _NUMBERS:
        number = entry.numbers.get(name)
        if number is not None:
            put_number(book, name, number, assumed=frozenset())


def _model(book: FactBook, entry: Entry) -> DriverModel | None:
    return driver_model(
        entry,
        sense_resistor=book.nominal("driver.sense_resistor"),
        reference_resistor=book.nominal("driver.reference_resistor"),
    )


def _put_tolerance(book: FactBook, entry: Entry) -> None:
    """Put the spread of the chip's reference voltage over its typical value."""
    number = entry.numbers.get(_VOLTAGE)
    if number is None or number.exact:
        return
    low, high = number.low / number.typical, number.high / number.typical
    spread = dataclasses.replace(number, low=low, typical=1.0, high=high)
    put_number(book, "driver.tolerance", spread)


def _put_silent_limit(book: FactBook, entry: Entry) -> None:
    clocks = entry.numbers.get("driver.silent_blank_clocks")
    frequency = entry.numbers.get("driver.silent_frequency")
    voltage, resistance = book.samples("supply.voltage"), book.samples("motor.resistance")
    if clocks is None or frequency is None or voltage is None or resistance is None:
        return
    amplitude = current.pwm_lower_current(
        voltage=voltage,
        resistance=resistance,
        blank_clocks=clocks.typical,
        pwm_per_clock=frequency.typical,
    )
    uses = ("supply.voltage", "motor.resistance", "driver.chip")
    words = "blank time x PWM frequency x supply voltage / resistance, over sqrt 2"
    book.put_made("driver.silent_low_current", amplitude / math.sqrt(2.0), uses, words)
    threshold_of = "driver.silent_threshold"
    low = "driver.silent_low_current"
    floor = book.samples(low)
    if floor is not None and (book.nominal(threshold_of) or 0.0) > 0.0:
        words = f"{{{low}}}, where the silent mode is on"
        book.put_made("driver.silent_floor", floor, (threshold_of, low), words)
