"""What a driver chip makes of the current it is asked for, from the catalogue's numbers.

The chip's registers are chosen as the ini-style firmware chooses them; see `physics.current`.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Callable, Mapping
from typing import Any

from advisor.base import Quantity, frozen
from advisor.catalog import Entry
from advisor.physics import current

__all__ = ["Apply", "DriverModel", "driver_model"]

Apply = Callable[[Quantity], Quantity]


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
