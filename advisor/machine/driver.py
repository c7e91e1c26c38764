"""What a driver chip makes of the current it is asked for, from the catalogue's numbers.

The chip's registers are chosen as the ini-style firmware chooses them; see `physics.current`.
The facts of the driver are what it applies of a current, what it bears, what then flows.
"""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from advisor.base import Quantity, frozen
from advisor.catalog import Catalog, Entry
from advisor.machine.catalogue_inputs import put_number
from advisor.machine.graph import FactBook
from advisor.physics import current

__all__ = ["Apply", "DriverModel", "driver_model", "driver_of", "put_driver", "put_working_current"]

Apply = Callable[[Quantity], Quantity]
_NUMBERS = (
    "driver.sense_resistor",
    "driver.reference_resistor",
    "driver.rms_limit",
    "driver.firmware_limit",
)
_VOLTAGE = "driver.chip_voltage_high"


@frozen
class DriverModel:
    """A driver with its resistor: `apply` gives the RMS current [A] for an asked RMS current [A].

    ``full_scale`` is the largest RMS current [A] it can be set to, ``uses`` the fact of the
    resistor it hangs on; ``setting`` gives the registers for an asked RMS current [A].
    """

    apply: Apply
    full_scale: float
    uses: str
    setting: Callable[[Quantity], current.CurrentSetting]


def driver_model(
    entry: Entry,
    *,
    sense_resistor: float | None,
    reference_resistor: float | None,
) -> DriverModel | None:
    """Return the model of a chip, or None where its resistor is not known.

    Parameters
    ----------
    entry : Entry
        The chip's catalogue entry.
    sense_resistor : float, optional
        Sense resistor, [ohm].
    reference_resistor : float, optional
        Reference resistor, [ohm].

    Returns
    -------
    DriverModel or None
    """
    typical = {name: number.typical for name, number in entry.numbers.items()}
    kind = entry.texts.get("driver.kind", "")
    build = _KINDS.get(kind)
    if build is None:
        return None
    return build(typical, sense_resistor, reference_resistor)


def _two_range(
    n: Mapping[str, float], sense: float | None, reference: float | None
) -> DriverModel | None:
    if sense is None or sense <= 0.0:
        return None
    chip = (n["driver.chip_voltage_high"], n["driver.chip_voltage_low"])
    firmware = (n["driver.firmware_voltage_high"], n["driver.firmware_voltage_low"])
    internal = n["driver.internal_resistance"]
    parts: dict[str, Any] = {
        "sense_resistor": sense,
        "firmware_voltages": firmware,
        "chip_voltages": chip,
        "internal_resistance": internal,
        "levels": int(n["driver.current_levels"]),
    }
    full = current.two_range_full_scale(
        sense_resistor=sense, chip_voltages=chip, internal_resistance=internal
    )
    return DriverModel(
        functools.partial(current.two_range_applied, **parts),
        _least(max(full), n),
        "driver.sense_resistor",
        functools.partial(current.two_range_setting, **parts),
    )


def _global_scaler(
    n: Mapping[str, float], sense: float | None, reference: float | None
) -> DriverModel | None:
    if sense is None or sense <= 0.0:
        return None
    full = current.global_scaler_full_scale(
        sense_resistor=sense, full_scale_voltage=n["driver.chip_voltage_high"]
    )
    parts: dict[str, Any] = {"full_scale": full, **_scaler(n)}
    return DriverModel(
        functools.partial(current.global_scaler_applied, **parts),
        _least(full, n),
        "driver.sense_resistor",
        functools.partial(current.global_scaler_setting, **parts),
    )


def _reference(
    n: Mapping[str, float], sense: float | None, reference: float | None
) -> DriverModel | None:
    if reference is None or reference <= 0.0:
        return None
    constants = tuple(n[f"driver.range_constant_{i}"] for i in (1, 2, 3))
    full = current.reference_full_scale(reference_resistor=reference, constants=constants)
    parts: dict[str, Any] = {
        "reference_resistor": reference,
        "constants": constants,
        **_scaler(n),
    }
    return DriverModel(
        functools.partial(current.reference_applied, **parts),
        _least(max(full), n),
        "driver.reference_resistor",
        functools.partial(current.reference_setting, **parts),
    )


def _scaler(n: Mapping[str, float]) -> dict[str, int]:
    names = ("scaler_levels", "scaler_minimum")
    levels = {"levels": int(n["driver.current_levels"])}
    return levels | {name: int(n[f"driver.{name}"]) for name in names}


def _least(full_scale: Quantity, n: Mapping[str, float]) -> float:
    """The full scale, or the most the firmware accepts."""
    return min(float(full_scale), n.get("driver.firmware_limit", math.inf))


_KINDS: Mapping[str, Callable[..., DriverModel | None]] = {
    "two-range": _two_range,
    "global-scaler": _global_scaler,
    "reference-resistor": _reference,
}


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
