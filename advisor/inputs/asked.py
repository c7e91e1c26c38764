"""Reads the flow that is asked for, in each way people say it.

``24mm3/s`` and a bare number are a flow, ``120mm/s x 0.45 x 0.2`` is a line of that speed, width
and height; ``5mm/s`` is a speed of filament and ``0.9g/min`` a mass: what flow they are, the
filament says.
"""

from __future__ import annotations

import re

from advisor.base import InputError, frozen, parse_unit
from advisor.data import parse_number, parse_quantity, within

__all__ = ["AskedFlow", "flow_asked", "read_asked"]

_LEAST, _MOST = 0.001e-9, 400e-9  # m3/s
_MOST_FILAMENT = 100e-9  # m3/s; above it a speed is meant as the head's
_TIMES = re.compile(r"\s*(?:[x\u00d7*]|\bby\b)\s*")
_WAYS = (
    "write a flow, such as 12mm3/s, a line (120mm/s x 0.45 x 0.2), 5mm/s of filament or 0.9g/min"
)
_PER_FILAMENT = ("mm/s", "g/min")
_OF_A_LINE = (parse_unit("mm").dimension, parse_unit("mm/s").dimension)


@frozen
class AskedFlow:
    """What is asked: a value in SI units, and the unit it was said in.

    ``mm3/s``: [m3/s]; ``mm/s`` of filament: [m/s]; ``g/min``: [kg/s].
    """

    text: str
    value: float
    unit: str

    @property
    def needs_filament(self) -> bool:
        """Whether the flow is known only with the filament."""
        return self.unit in _PER_FILAMENT


def read_asked(text: str) -> AskedFlow:
    """Return what is asked.

    Parameters
    ----------
    text : str
        As typed.

    Raises
    ------
    InputError
        If it is none of the ways, or no flow that could be.
    """
    parts = [part for part in _TIMES.split(text.strip()) if part]
    if len(parts) > 1:
        return _checked(AskedFlow(text, _line(text, parts), "mm3/s"))
    if parse_number(text) is not None:
        text = f"{text} mm3/s"
    try:
        quantity = parse_quantity(text)
    except InputError as err:
        raise InputError(f"--asked: {err.problem}", _WAYS) from None
    for unit in ("mm3/s", *_PER_FILAMENT):
        if quantity.unit.dimension == parse_unit(unit).dimension:
            asked = AskedFlow(text, float(quantity.typical), unit)
            return asked if asked.needs_filament else _checked(asked)
    raise InputError(f"--asked: '{text.strip()[:40]}' is no flow", _WAYS)


def flow_asked(asked: AskedFlow, *, area: float | None, density: float | None) -> float:
    """Return the flow that is asked, in m3/s.

    Parameters
    ----------
    asked : AskedFlow
        What is asked.
    area : float or None
        Cross-section of the filament, [m2]
    density : float or None
        Of the solid filament, [kg/m3]

    Raises
    ------
    InputError
        If the filament that it hangs on is not known, or no flow could be that large.
    """
    if not asked.needs_filament:
        return asked.value
    missing = {"mm/s": (area, "filament's diameter"), "g/min": (density, "filament's density")}
    known, words = missing[asked.unit]
    if known is None:
        raise InputError(f"--asked {asked.text}: the {words} is not known", "write it in mm3/s")
    flow = asked.value * known if asked.unit == "mm/s" else asked.value / known
    if asked.unit == "mm/s" and flow > _MOST_FILAMENT:
        problem = f"--asked {asked.text}: as a speed of filament that is {flow * 1e9:.3g} mm3/s"
        remedy = f"for a printed line write its width and height too: '{asked.text} x 0.45 x 0.2'"
        raise InputError(problem, remedy)
    return _checked(AskedFlow(asked.text, flow, "mm3/s")).value


def _line(text: str, parts: list[str]) -> float:
    """Return the flow of a line: its speed, its width and its height, in any order, in m3/s."""
    if len(parts) != 3:
        raise InputError(f"--asked '{text.strip()[:40]}' is no line", _WAYS)
    speed, flow = 0, 1.0
    for part in parts:
        shown = f"{part} mm" if parse_number(part) is not None else part
        try:
            quantity = parse_quantity(shown)
        except InputError as err:
            raise InputError(f"--asked: {err.problem}", _WAYS) from None
        speed += quantity.unit.dimension == parse_unit("mm/s").dimension
        if quantity.unit.dimension not in _OF_A_LINE:
            raise InputError(f"--asked: '{part}' is no part of a line", _WAYS)
        flow *= float(quantity.typical)
    if speed != 1:
        raise InputError(f"--asked '{text.strip()[:40]}' has no speed", _WAYS)
    return flow


def _checked(asked: AskedFlow) -> AskedFlow:
    if not within(asked.value, _LEAST, _MOST):
        raise InputError(f"--asked {asked.text} is out of range", "give 0.1 to 400 mm3/s")
    return asked
