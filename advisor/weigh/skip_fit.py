"""How well a machine explains the clicks of a skip test: a log-likelihood, about 0 at its best.

At a lowered current the motor first clicks where its torque, less detent and drag, is what the
push through the hot end asks: current and flow together tell the push in units of the motor's own
torque. Nothing is made newtons of by a typical constant: constant, friction, push and exponent
are those of each machine. What is not known beside them (a warm magnet, a late ear, the step of
the driver, the rotor's own frequency) is averaged over.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Fact, Quantity, Span
from advisor.machine import BRACKET, HOTEND_INPUTS, MOTOR_INPUTS
from advisor.physics import limits, motor
from advisor.weigh.skip_records import skip_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from advisor.machine import FactBook

    Array = NDArray[np.float64]

__all__ = ["SKIP_FACTS", "SkipPoint", "SkipResult", "click_flow", "rotor_rate", "skip_likelihood"]

_FLOW_INPUTS = {**MOTOR_INPUTS, **HOTEND_INPUTS}
_TOLERANCE, _DETENT = "driver.tolerance", "motor.detent_torque"
_CASE, _AIR, _INERTIA = "motor.case_temperature", "ambient.motor", "motor.rotor_inertia"
SKIP_FACTS = (
    *_FLOW_INPUTS.values(), _TOLERANCE, _CASE, _AIR, _INERTIA, "motor.full_steps", "flow.slip",
)  # fmt: skip
"""What the likelihood is made of."""

_EVEN = ((0.5 - 0.15**0.5, 5 / 18), (0.5, 8 / 18), (0.5 + 0.15**0.5, 5 / 18))
"""Places between 0 and 1 and their weights: the mean over an even spread (Gauss-Legendre)."""
_LEAST = 1e-13  # m3/s; stands for no flow
_WORST = -30.0
_MORE = 1.15  # a second current, for how the flow of the click goes with it
_SLOPE = 1.702  # a logistic curve this steep is within 0.01 of the normal one
_ELSE = 0.3  # likelihood of a point that says something else, against one that fits
_HOTTEST = 150.0  # K: no rotor is warmer that still turns
_WARM = 20.0  # K: rise of a case of which nothing is known


@dataclass(frozen=True, slots=True)
class SkipPoint:
    """One lowered current and where the motor first clicked at it.

    Attributes
    ----------
    current : float
        As the driver applies it, RMS, [A]
    error : float
        Standard deviation of it beside what is common to all steps, relative, [-]
    last : float
        The last flow without a click, [m3/s]
    first : float or None
        The flow of the first click; None: no click to the end, [m3/s]
    scatter : float
        Standard deviation of the flow from run to run, relative, [-]
    """

    current: float
    error: float
    last: float
    first: float | None
    scatter: float = 0.0


@dataclass(frozen=True, slots=True)
class SkipResult:
    """What one skip test showed, and under which conditions.

    Attributes
    ----------
    at : Span
        The test's table, or the line of the sheet.
    conditions : mapping of str to Fact
        What it was done with, where it says so.
    points : tuple of SkipPoint
        The lowered currents.
    empty : float or None
        The lowest current at which the drive turns without filament, RMS, [A]
    slipped : float or None
        The last good flow below the one at which the gears slipped, [m3/s]
    """

    at: Span
    conditions: Mapping[str, Fact] = field(default_factory=dict)
    points: tuple[SkipPoint, ...] = ()
    empty: float | None = None
    slipped: float | None = None


def click_flow(book: FactBook, current: Quantity) -> Array | None:
    """Return the flow at which each machine first clicks at a current; None where unknown.

    Parameters
    ----------
    book : FactBook
        The machines.
    current : Quantity
        As the driver applies it, RMS, [A]

    Returns
    -------
    ndarray, shape (size,), or None
        Flow, at most `BRACKET`, [m3/s]
    """
    parts = book.each(tuple(_FLOW_INPUTS.values()))
    if parts is None:
        return None
    given = dict(zip(_FLOW_INPUTS, parts, strict=True))
    given["current_rms"] = current * _tolerance(book)
    found = limits.torque_flow(
        gear_ratio=1.0,
        rotation_distance=given.pop("travel"),
        usable_share=1.0,
        bracket=BRACKET,
        **given,
    )
    return np.broadcast_to(np.asarray(found.flow, dtype=np.float64), (book.ensemble.size,))


def rotor_rate(book: FactBook, current: float, flow: Quantity) -> Quantity | None:
    """Return full steps a second at a flow over the rotor's own frequency at a current, [-].

    None where the motor's inertia is not known.
    """
    names = (_INERTIA, "motor.torque_constant", "motor.pole_pairs", "filament.area",
             "drive.travel_per_motor_turn", "motor.full_steps")  # fmt: skip
    parts = book.each(names)
    if parts is None:
        return None
    inertia, constant, poles, area, travel, full_steps = parts
    own = motor.rotor_frequency(
        current_rms=current, torque_constant=constant, pole_pairs=poles, inertia=inertia
    )
    return flow / area / travel * full_steps / np.maximum(own, 1e-9)


def skip_likelihood(book: FactBook, seen: SkipResult) -> Array | None:
    """Return the log-likelihood of every machine of a book; None where it cannot be told.

    Parameters
    ----------
    book : FactBook
        The machines, under the conditions of the test.
    seen : SkipResult
        The test.

    Returns
    -------
    ndarray, shape (size,), or None
        About 0 at the best, [-]
    """
    numbers = skip_numbers("reading")
    courses = [_course(book, point, numbers) for point in seen.points]
    known = [course for course in courses if course is not None]
    if len(known) < len(courses) or not known:
        return None
    likelihood = np.zeros(book.ensemble.size)
    for weak, weight in _common(book, numbers):
        logs = _empty_run(book, seen, weak, numbers)
        for course in known:
            logs = logs + course.log_likelihood(weak, numbers)
        likelihood = likelihood + weight * np.exp(np.maximum(logs, _WORST))
    made: Array = np.log(np.maximum(likelihood, np.exp(_WORST)))
    return made + _of_slip(book, seen, numbers)


def _of_slip(book: FactBook, seen: SkipResult, numbers: Mapping[str, float]) -> Quantity:
    """Return what is said of the grip: it held up to the clicks, or slipped where that was seen."""
    slip = book.samples("flow.slip")
    if slip is None:
        return 0.0
    logs, wrong = np.log(np.clip(slip, _LEAST, 1.0)), numbers["mistake"]
    held = max(point.last for point in seen.points)
    share = _smooth_step((logs - np.log(held)) / numbers["slip_scatter"])
    said: Quantity = np.log(wrong + (1.0 - wrong) * share)
    if seen.slipped is not None:
        least = np.log(seen.slipped * (1.0 + numbers["slip_seen"]))
        share = _smooth_step((least - logs) / numbers["slip_scatter"])
        said = said + np.log(wrong + (1.0 - wrong) * share)
    return said


@dataclass(frozen=True, slots=True)
class _Weak:
    """What is common to all points of a test: by what the motor is weaker than the model's.

    ``warm`` is a logarithm of its torque, ``lost`` what detent and drag take beside the model's
    over the torque of an ampere [A].
    """

    warm: Quantity
    lost: Quantity

    def shift(self, current: float) -> Quantity:
        """Return the logarithm by which a current acts as a larger one, [-]."""
        return self.warm - self.lost / current


def _common(book: FactBook, numbers: Mapping[str, float]) -> list[tuple[_Weak, float]]:
    rise = _rise(book)
    warm = [
        (np.log(motor.warm_constant(1.0, place * rise, loss=numbers["magnet"])), weight)
        for place, weight in _EVEN
    ]
    parts = book.each((_DETENT, "motor.torque_constant"))
    fact = book.facts.get(_DETENT)
    if parts is None or fact is None or fact.trace.assumed:  # what is assumed is spread already
        return [(_Weak(one, 0.0), weight) for one, weight in warm]
    unit = parts[0] / (np.sqrt(2.0) * parts[1]) * numbers["detent_spread"]
    return [
        (_Weak(one, (2.0 * place - 1.0) * unit), weight * share)
        for one, weight in warm
        for place, share in _EVEN
    ]


def _rise(book: FactBook) -> Quantity:
    parts = book.each((_CASE, _AIR))
    return _WARM if parts is None else np.clip(parts[0] - parts[1], 0.0, _HOTTEST)


def _tolerance(book: FactBook) -> Quantity:
    tolerance = book.samples(_TOLERANCE)
    return 1.0 if tolerance is None else tolerance


def _empty_run(
    book: FactBook, seen: SkipResult, weak: _Weak, numbers: Mapping[str, float]
) -> Quantity:
    """Return what the empty run says: its current makes up for detent and drag alone."""
    parts = book.each((_DETENT, "motor.torque_constant"))
    if seen.empty is None or parts is None:
        return 0.0
    detent, constant = parts
    needs = detent / (np.sqrt(2.0) * constant) + weak.lost
    off: Quantity = (
        np.log(seen.empty * _tolerance(book)) + weak.warm - np.log(np.maximum(needs, 1e-6))
    )
    said: Quantity = -0.5 * (off / numbers["empty_error"]) ** 2
    return said


@dataclass(frozen=True, slots=True)
class _Course:
    """Logarithm of the flow of the click at one current, and how it goes with the current."""

    point: SkipPoint
    flow: Array
    slope: Array
    near: Array  # bool: full steps come near the rotor's own frequency there

    def log_likelihood(self, weak: _Weak, numbers: Mapping[str, float]) -> Array:
        """Return what the point says of each machine, [-]."""
        shift, total = weak.shift(self.point.current), np.zeros(self.flow.size)
        spread = np.sqrt(
            (self.slope * self.point.error) ** 2
            + numbers["model_scatter"] ** 2
            + self.point.scatter**2
        )
        for loss, weight in self._losses(numbers):
            expected = self.flow + self.slope * (shift + loss)
            for place, share in _EVEN:
                late = np.log1p(place * numbers["late"])
                total = total + weight * share * self._inside(expected + late, spread)
        best = float(self._inside(self._middle, spread)[0])
        wrong = numbers["mistake"]
        fits = (1.0 - wrong) * total / max(best, 1e-9) + wrong * _ELSE
        made: Array = np.log(fits)
        return made

    @property
    def _middle(self) -> float:
        if self.point.first is None:
            return float(np.log(self.point.last)) + 1.0
        return float(0.5 * (np.log(self.point.last) + np.log(self.point.first)))

    def _inside(self, expected: Quantity, spread: Array) -> Array:
        above = _smooth_step((expected - np.log(self.point.last)) / spread)
        if self.point.first is None:
            return above
        return np.maximum(above - _smooth_step((expected - np.log(self.point.first)) / spread), 0.0)

    def _losses(self, numbers: Mapping[str, float]) -> list[tuple[Quantity, float]]:
        if not self.near.any():
            return [(0.0, 1.0)]
        return [
            (np.where(self.near, np.log1p(-place * numbers["rotor_loss"]), 0.0), weight)
            for place, weight in _EVEN
        ]


def _course(book: FactBook, point: SkipPoint, numbers: Mapping[str, float]) -> _Course | None:
    here, more = click_flow(book, point.current), click_flow(book, point.current * _MORE)
    if here is None or more is None:
        return None
    flow, higher = (np.log(np.maximum(one, _LEAST)) for one in (here, more))
    slope = np.clip((higher - flow) / np.log(_MORE), 0.0, 5.0)
    rate = rotor_rate(book, point.current, point.first or point.last)
    band = skip_numbers("plan")["rotor_band"]
    near = np.zeros(flow.size, dtype=bool) if rate is None else np.abs(rate - 1.0) < band
    return _Course(point, flow, slope, np.broadcast_to(near, flow.shape))


def _smooth_step(x: Quantity) -> Array:
    made: Array = 1.0 / (1.0 + np.exp(np.clip(-_SLOPE * np.asarray(x), -60.0, 60.0)))
    return made
