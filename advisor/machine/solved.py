"""What a speed or an acceleration may be at most: the figure beside each advice to lower it.

Each is looked for on the typical machine itself, in the steps in which people set it, and only
where what is set is too much. A material that is named without its temperature gets the flow at
its usual one.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Fact, frozen, parse_unit
from advisor.machine.machine import Machine
from advisor.machine.summary import CAP_NAME as CAP
from advisor.machine.sweep import renewed

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["with_solved"]

_TRUSTED = "model.speed_share_trusted"
_CURES = "motion.advance_cures"
_MOST = 2000  # values tried
_NAMED, _USUAL = "filament.named_material", "filament.usual_figure"
_REFERENCE, _HEAT = "material.reference_temperature", "hotend.temperature"
_MM3 = 1e9  # mm3 in a m3


@frozen
class _Limit:
    """A setting, the step it is set in, and what must hold: trusted speed, force for the load."""

    fits: str
    setting: str
    step: float  # in the trade unit
    share: str | None = None
    force: str | None = None
    load: str | None = None

    @property
    def needs(self) -> tuple[str, ...]:
        return tuple(name for name in (self.share, self.force, self.load) if name is not None)


_RETRACT = "motion.retract_load"
_AT_CAPACITY = "motion.advance_full_share"  # so that another flow asked gives no other figure
_LIMITS = (
    _Limit("motion.retract_speed_fits", "motion.retract_speed", 1.0,
           "motion.retract_speed_share", "motion.retract_force", _RETRACT),
    _Limit("profile.retract_speed_fits", "profile.retract_speed", 1.0,
           "profile.retract_speed_share", "profile.retract_force", _RETRACT),
    _Limit("motion.extrude_only_speed_fits", "motion.max_extrude_only_velocity", 1.0,
           "motion.extrude_only_speed_share", "motion.extrude_only_steady_force",
           "motion.extrude_only_load"),
    _Limit("motion.extrude_only_accel_fits", "motion.max_extrude_only_accel", 100.0,
           None, "motion.extrude_only_force", "motion.extrude_only_load"),
    _Limit("motion.max_accel_fits", "motion.max_accel", 100.0, _AT_CAPACITY),
    _Limit("motion.pressure_advance_fits", "motion.pressure_advance", 0.001, _AT_CAPACITY),
)  # fmt: skip


def with_solved(machine: Machine) -> Machine:
    """Return the machine with the largest value that holds of each setting that is too large."""
    solved, usual = machine.told("solved", _solved), machine.told("usual", _usual)
    if not solved and usual is None:
        return machine
    book = machine.book.aside()
    if usual is not None:
        book.put_words(_USUAL, usual, (_NAMED, _REFERENCE), "the same at that temperature")
    for limit, value in solved:
        if value is not None:
            uses = (limit.setting, *limit.needs)
            book.put_made(limit.fits, value, uses, f"the largest {limit.setting} that holds")
    cures = ", or ".join(_cures(book.facts))
    if cures:
        book.put_words(_CURES, cures, ("motion.advance_speed_share",), "each of them alone")
    return dataclasses.replace(machine, book=book)


def _usual(machine: Machine) -> str | None:
    """Return the flow at the usual temperature of a material that is named without its own."""
    degrees = machine.book.nominal(_REFERENCE)
    if not machine.book.known(_NAMED) or degrees is None:
        return None
    book = machine.with_({_HEAT: degrees}).book
    for name, words in ((CAP, "cap is"), ("flow.capacity", "capacity is")):
        flow = book.nominal(name)
        if flow is not None:
            return f"{words} {flow * _MM3:.1f} mm3/s"
    return None


def _solved(machine: Machine) -> tuple[tuple[_Limit, float | None], ...]:
    """Return each limit that is not held, and the largest value that holds it [SI]."""
    wrong = [limit for limit in _LIMITS if _is_wrong(limit, machine)]
    return tuple((limit, _largest(limit, machine)) for limit in wrong)


def _is_wrong(limit: _Limit, machine: Machine) -> bool:
    """Whether the typical machine is past what can be trusted, or too weak there."""
    values = {name: machine.book.nominal(name) for name in (limit.setting, *limit.needs)}
    if any(value is None for value in values.values()):
        return False
    made = {name: np.array([value], dtype=np.float64) for name, value in values.items()}
    return not bool(_holds(limit, made, machine)[0])


def _holds(
    limit: _Limit, made: Mapping[str, NDArray[np.float64]], machine: Machine
) -> NDArray[np.bool_]:
    held = np.ones(np.shape(made[limit.needs[0]]), dtype=bool)
    if limit.share is not None:
        held &= made[limit.share] <= (machine.book.nominal(_TRUSTED) or 0.0)
    if limit.force is not None and limit.load is not None:
        held &= made[limit.force] >= made[limit.load]
    return held


def _largest(limit: _Limit, machine: Machine) -> float | None:
    """Return the largest value below what is set that holds, in SI units."""
    unit = parse_unit(machine.book.units[limit.setting])
    now = float(unit.from_si(machine.book.nominal(limit.setting) or 0.0))
    step = limit.step * max(1, math.ceil(now / limit.step / _MOST))
    values = [float(unit.to_si(step * n)) for n in range(1, math.ceil(now / step - 1e-9))]
    if not values:
        return None
    made = renewed(machine, limit.setting, values, limit.needs)
    if any(name not in made for name in limit.needs):
        return None
    held = np.flatnonzero(_holds(limit, {name: rows[:, 0] for name, rows in made.items()}, machine))
    return values[int(held[-1])] if held.size else None


def _cures(facts: Mapping[str, Fact]) -> Iterator[str]:
    """Yield what brings the peak of pressure advance down, each alone."""
    for name, aside in (("motion.max_accel", ""), ("motion.pressure_advance", _UNMEASURED)):
        fits = facts.get(f"{name}_fits")
        if fits is not None and fits.number is not None:
            setting = facts[name].origin.setting or facts[name].name
            yield f"{setting} to {fits.number.in_trade():.6g} {fits.number.unit}{aside}"


_UNMEASURED = " if it was not measured"
